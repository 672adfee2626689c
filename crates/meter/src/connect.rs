//! Opens the network connection or the serial port an address names.

use super::deadline::Deadline;
use super::{Address, MeterError};
use std::io::{self, ErrorKind, Read, Write};
use std::net::{IpAddr, SocketAddr, TcpStream, ToSocketAddrs};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

/// A way to a meter on which no read or write waits for longer than it was told.
pub trait Stream: Read + Write + Send {
    /// Sets the longest wait of each read and write; at zero they take only what is there.
    fn wait_at_most(&mut self, time: Duration) -> io::Result<()>;
}

impl Stream for TcpStream {
    fn wait_at_most(&mut self, time: Duration) -> io::Result<()> {
        self.set_nonblocking(time.is_zero())?;
        let time = Some(time).filter(|time| !time.is_zero());
        self.set_read_timeout(time)?;
        self.set_write_timeout(time)
    }
}

impl Stream for Box<dyn serialport::SerialPort> {
    fn wait_at_most(&mut self, time: Duration) -> io::Result<()> {
        self.set_timeout(time).map_err(io::Error::from)
    }
}

/// Opens what the address names.
pub fn connect(address: &Address, deadline: Deadline) -> Result<Box<dyn Stream>, MeterError> {
    match address {
        Address::Tcp { host, port } => {
            let found = find(host, *port, deadline)?;
            let stream = dial(&found, deadline).map_err(|error| no_way(address, &error))?;
            Ok(Box::new(stream))
        }
        Address::Serial { path, rate } => match serialport::new(path, *rate).open() {
            Ok(port) => Ok(Box::new(port)),
            Err(error) => Err(no_port(address, path, &error)),
        },
    }
}

/// The addresses of a host. A name is looked up aside, since the system sets its own time for that.
fn find(host: &str, port: u16, deadline: Deadline) -> Result<Vec<SocketAddr>, MeterError> {
    if let Ok(ip) = host.parse::<IpAddr>() {
        return Ok(vec![SocketAddr::new(ip, port)]);
    }
    let unknown = || MeterError::NoSuchHost { host: host.to_owned() };
    let (tell, hear) = mpsc::channel();
    let name = host.to_owned();
    thread::spawn(move || tell.send((name.as_str(), port).to_socket_addrs().map(Iterator::collect)));
    let found = hear.recv_timeout(deadline.left().unwrap_or_default()).map_err(|_| unknown())?;
    found.map_err(|_| unknown())
}

/// Tries each address in turn, with an even share of the time that is left.
fn dial(found: &[SocketAddr], deadline: Deadline) -> io::Result<TcpStream> {
    let mut trouble = io::Error::from(ErrorKind::TimedOut);
    for (tried, address) in found.iter().enumerate() {
        let Some(left) = deadline.left() else { break };
        let shares = u32::try_from(found.len() - tried).unwrap_or(u32::MAX);
        match TcpStream::connect_timeout(address, (left / shares).max(Duration::from_millis(1))) {
            Ok(stream) => return stream.set_nodelay(true).map(|()| stream),
            Err(error) => trouble = error,
        }
    }
    Err(trouble)
}

fn no_way(address: &Address, error: &io::Error) -> MeterError {
    let address = address.to_string();
    match error.kind() {
        ErrorKind::ConnectionRefused => MeterError::Refused { address },
        ErrorKind::TimedOut | ErrorKind::HostUnreachable | ErrorKind::NetworkUnreachable => {
            MeterError::Unreachable { address }
        }
        _ => MeterError::NoConnection { address, why: error.to_string() },
    }
}

/// `NoDevice` is what the library says of a port that is taken; on Windows also of one that is not there.
fn no_port(address: &Address, path: &str, error: &serialport::Error) -> MeterError {
    let path = path.to_owned();
    match error.kind() {
        serialport::ErrorKind::Io(ErrorKind::NotFound) => MeterError::NoSuchPort { path },
        serialport::ErrorKind::Io(ErrorKind::PermissionDenied) => MeterError::NoPermission { path },
        serialport::ErrorKind::NoDevice if cfg!(windows) => MeterError::NoSuchPort { path },
        serialport::ErrorKind::NoDevice => MeterError::PortBusy { path },
        _ => MeterError::NoConnection { address: address.to_string(), why: error.to_string() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_reason_of_the_system_has_its_sentence() {
        let address = Address::Serial { path: "/dev/ttyUSB0".into(), rate: 9600 };
        let serial =
            |kind| no_port(&address, "/dev/ttyUSB0", &serialport::Error::new(kind, "odd")).to_string();
        assert!(
            serial(serialport::ErrorKind::Io(ErrorKind::PermissionDenied))
                .contains("may not open /dev/ttyUSB0")
        );
        assert!(
            serial(serialport::ErrorKind::Io(ErrorKind::NotFound))
                .starts_with("there is no serial port /dev/tty")
        );
        assert!(serial(serialport::ErrorKind::Unknown).contains("(odd)"));
        let address = Address::Tcp { host: "10.0.0.9".into(), port: 5025 };
        let network = |kind| no_way(&address, &io::Error::from(kind)).to_string();
        assert!(network(ErrorKind::HostUnreachable).starts_with("nothing answers at tcp:10.0.0.9:5025"));
        assert!(network(ErrorKind::TimedOut).starts_with("nothing answers"));
        assert!(network(ErrorKind::ConnectionRefused).contains("refuses the connection"));
        assert!(network(ErrorKind::PermissionDenied).contains("cannot be opened"));
    }
}
