//! `voltwright` without a command: opens the workshop on loopback, and with `--lan` to paired devices of the network.

use crate::arguments::Workshop;
use crate::failure::{Failure, Verdict};
use crate::terminal;
use crate::web::{router, server, site::Site};
use etcetera::BaseStrategy;
use std::io::ErrorKind;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::PathBuf;
use tokio::net::TcpListener;
use voltwright_meter::{Address, Way};
use voltwright_workshop::Store;

/// The file of the workshop in its folder.
const FILE: &str = "workshop.db";
/// The variable that names the folder.
const FOLDER: &str = "VOLTWRIGHT_DATA";

/// Serves until it is interrupted.
pub fn run(arguments: &Workshop) -> Result<Verdict, Failure> {
    let meter = arguments.meter.as_deref().map(Address::parse).transpose();
    let meter = meter.map_err(|e| Failure::command_line(e.to_string(), None))?;
    let way = if arguments.meter_set_by_hand { Way::Read } else { Way::Measure };
    let (store, place) = open(arguments.data.as_deref())?;
    let runtime =
        tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_io().enable_time().build();
    let runtime = runtime.map_err(|e| Failure::Ours(format!("the server could not be made: {e}")))?;
    runtime.block_on(async {
        let here = listen(SocketAddr::from((Ipv4Addr::LOCALHOST, arguments.port))).await?;
        let port = here.local_addr().map_err(|e| Failure::Ours(e.to_string()))?.port();
        let lan = if arguments.lan { Some(own_address(arguments.address)?) } else { None };
        let lan = lan.map(|ip| SocketAddr::from((ip, port)));
        let mut listeners = vec![here];
        if let Some(lan) = lan {
            listeners.push(listen(lan).await?);
        }
        let threads = super::threads();
        let site = Site::new(store, threads, (port, lan), meter.map(|m| (m, way)));
        let site = site.map_err(|why| unusable(&place, &why))?;
        terminal::print(&told(port, lan, &place))?;
        server::serve(listeners, router(site))
            .await
            .map_err(|e| Failure::Ours(format!("the server ended: {e}")))?;
        Ok(Verdict::NoStop)
    })
}

/// What is said when the pages can be opened.
fn told(port: u16, lan: Option<SocketAddr>, place: &std::path::Path) -> String {
    let mut out = format!("The workshop is open at http://localhost:{port}/\n");
    if let Some(lan) = lan {
        out.push_str(&format!(
            "Paired devices reach it at http://{lan}/ – let one in at http://localhost:{port}/devices\n"
        ));
    }
    out + &format!("Everything is kept in {}. Ctrl-C closes it.\n", place.display())
}

async fn listen(at: SocketAddr) -> Result<TcpListener, Failure> {
    TcpListener::bind(at).await.map_err(|e| {
        let hint = match e.kind() {
            ErrorKind::AddrInUse => {
                "is it open already? Look there, or name another port: --port 0 takes a free one"
            }
            ErrorKind::PermissionDenied => "name a port above 1023",
            _ => "name an address of this PC: --address",
        };
        Failure::command_line(format!("cannot listen at {at}: {e}"), Some(hint.into()))
    })
}

/// The address of this PC in its network: as named, or the one from which it would reach others. Nothing is sent for that.
fn own_address(named: Option<IpAddr>) -> Result<IpAddr, Failure> {
    if let Some(named) = named {
        return Ok(named);
    }
    // An address of documentation (RFC 5737): only the way to it is asked.
    let found = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))
        .and_then(|s| s.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).and_then(|()| s.local_addr()));
    let found = found.map(|a| a.ip()).ok().filter(|ip| !ip.is_unspecified() && !ip.is_loopback());
    let hint = "name it: --address 192.168.1.20";
    found.ok_or_else(|| {
        Failure::command_line("this PC's address in its network was not found", Some(hint.into()))
    })
}

/// The store, made if it is not there, and where it is.
pub fn open(folder: Option<&str>) -> Result<(Store, PathBuf), Failure> {
    let place = file(folder)?;
    let store = Store::open(&place).map_err(|e| unusable(&place, &e.to_string()))?;
    Ok((store, place))
}

/// Where everything is kept: the folder named, that of the variable, or the user's own for data.
fn file(named: Option<&str>) -> Result<PathBuf, Failure> {
    let variable = std::env::var_os(FOLDER).filter(|v| !v.is_empty());
    let folder = match (named, variable) {
        (Some(named), _) => PathBuf::from(named),
        (None, Some(variable)) => PathBuf::from(variable),
        (None, None) => {
            let strategy = etcetera::choose_base_strategy();
            let hint = format!("name a folder for the workshop: --data FOLDER, or {FOLDER}");
            strategy
                .map_err(|_| Failure::command_line("your home folder was not found", Some(hint)))?
                .data_dir()
                .join("voltwright")
        }
    };
    Ok(folder.join(FILE))
}

fn unusable(place: &std::path::Path, why: &str) -> Failure {
    let hint = Some(format!("another folder can be named: --data FOLDER, or {FOLDER}"));
    Failure::File { what: "open", file: place.display().to_string(), why: why.to_owned(), hint }
}
