//! Who is asking: the workshop PC itself, or a device that was paired with it.

use axum::http::{HeaderMap, header};
use std::net::SocketAddr;
use voltwright_workshop::DeviceId;

/// The two ends of a connection.
#[derive(Debug, Clone, Copy)]
pub struct Ends {
    /// The other side.
    pub remote: SocketAddr,
    /// Ours.
    pub local: SocketAddr,
}

/// Who is asking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Visitor {
    /// Somebody at the workshop PC; the visit is a random name kept in a cookie.
    Owner {
        /// The name of the visit.
        visit: String,
    },
    /// A paired device.
    Device {
        /// Its number in the store.
        id: DeviceId,
        /// Its name.
        name: String,
        /// Its secret, which its cookie carries.
        secret: String,
    },
    /// A device that is not paired: it may only ask to be.
    Stranger,
}

impl Visitor {
    /// What the token of its forms is made from.
    pub fn visit(&self) -> &str {
        match self {
            Visitor::Owner { visit } => visit,
            Visitor::Device { secret, .. } => secret,
            Visitor::Stranger => "",
        }
    }

    /// Whether it is the workshop PC.
    pub fn is_owner(&self) -> bool {
        matches!(self, Visitor::Owner { .. })
    }

    /// As the log names it.
    pub fn device(&self) -> &str {
        match self {
            Visitor::Owner { .. } => "workshop PC",
            Visitor::Device { name, .. } => name,
            Visitor::Stranger => "",
        }
    }
}

/// The name of our cookie: other programs, and other workshops, on the same host have theirs.
pub fn cookie_name(port: u16) -> String {
    format!("voltwright-{port}")
}

/// The value of a cookie.
pub fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut pairs = all.flat_map(|value| value.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(known, _)| *known == name).map(|(_, value)| value)
}

/// A cookie as it is set: for us alone, not for scripts, not sent along by other sites.
pub fn set_cookie(name: &str, value: &str) -> String {
    format!("{name}={value}; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000")
}
