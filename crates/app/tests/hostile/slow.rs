//! Those who take their time: each is shut out in bounded time, and others are served meanwhile.

use crate::case::WRONG;
use crate::common::visit::Visit;
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::time::{Duration, Instant};

/// By then the server must have closed a connection on which no request has come.
const BOUND: Duration = Duration::from_secs(12);
/// Others are served within this, whoever else holds connections open.
const OTHERS: Duration = Duration::from_secs(3);
/// Connections that say nothing.
const SILENT: usize = 300;

/// Runs all at once, so that nobody waits for the sum.
pub fn run(port: u16) -> Vec<String> {
    let drips: [(&str, &[u8]); 5] = [
        ("nothing", b""),
        ("half a request line", b"GET / HT"),
        ("a head that never ends, a byte at a time", b"GET / HTTP/1.1\r\nhost: x\r\nx: "),
        ("line ends alone", b"\r\n\r\n\r\n"),
        ("a good request, and then half of another", b"GET / HTTP/1.1\r\nhost: x\r\n\r\nGET"),
    ];
    std::thread::scope(|scope| {
        let waiting: Vec<_> =
            drips.into_iter().map(|(name, head)| scope.spawn(move || drip(port, name, head))).collect();
        let mut told = crowd(port);
        told.extend(waiting.into_iter().map(|one| one.join().unwrap()));
        told
    })
}

/// Sends a beginning, then a byte a second; tells when the connection was closed.
#[allow(clippy::disallowed_methods, reason = "the test is about time")]
fn drip(port: u16, name: &str, head: &[u8]) -> String {
    let start = Instant::now();
    let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(1))).unwrap();
    stream.write_all(head).unwrap();
    let mut room = [0; 4096];
    while start.elapsed() < BOUND {
        match stream.read(&mut room) {
            Ok(0) => return format!("slow, {name}: closed within the bound"),
            Ok(_) => {}
            Err(e) if matches!(e.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) => {
                let _ = stream.write_all(b"a");
            }
            Err(_) => return format!("slow, {name}: closed within the bound"),
        }
    }
    format!("{WRONG} slow, {name}: still open after {BOUND:?}")
}

/// Many connections that say nothing; an honest visit is served meanwhile.
#[allow(clippy::disallowed_methods, reason = "the test is about time")]
fn crowd(port: u16) -> Vec<String> {
    let silent: Vec<TcpStream> =
        (0..SILENT).filter_map(|_| TcpStream::connect((Ipv4Addr::LOCALHOST, port)).ok()).collect();
    let start = Instant::now();
    let served = Visit::begin(port).is_ok_and(|visit| !visit.token.is_empty());
    let took = start.elapsed();
    drop(silent);
    let line = format!("{SILENT} silent connections, and an honest visit");
    vec![if served && took < OTHERS {
        format!("{line}: served")
    } else {
        format!("{WRONG} {line}: served {served} after {took:?}")
    }]
}
