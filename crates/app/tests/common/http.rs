//! HTTP/1.1 as bytes on a connection, so that a test can also send what no library would.

use std::io::{self, Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::time::Duration;

/// An answer.
#[derive(Debug, Clone, Default)]
pub struct Answer {
    pub status: u16,
    /// Names in small letters, in order.
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    /// The first header of this name.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(n, _)| n == name).map(|(_, value)| value.as_str())
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

/// A request as bytes: a line, headers, a body with its length.
pub fn request(line: &str, headers: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
    let mut head = format!("{line} HTTP/1.1\r\n");
    for (name, value) in headers {
        head += &format!("{name}: {value}\r\n");
    }
    if !line.starts_with("GET") {
        head += &format!("content-length: {}\r\n", body.len());
    }
    [head.as_bytes(), b"\r\n", body].concat()
}

/// Fields as a form sends them.
pub fn form(fields: &[(&str, &str)]) -> Vec<u8> {
    let pair = |(name, value): &(&str, &str)| format!("{}={}", escaped(name), escaped(value));
    fields.iter().map(pair).collect::<Vec<_>>().join("&").into_bytes()
}

/// A text as part of an address or a form.
pub fn escaped(text: &str) -> String {
    let is_plain = |b: u8| b.is_ascii_alphanumeric() || b"-_.~".contains(&b);
    text.bytes().map(|b| if is_plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}

/// A connection that is kept from request to request.
pub struct Connection {
    stream: TcpStream,
    /// Bytes that came after the last answer.
    ahead: Vec<u8>,
}

impl Connection {
    /// Connects on loopback; gives up on an answer after a while.
    pub fn open(port: u16) -> io::Result<Self> {
        let stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port))?;
        stream.set_nodelay(true)?;
        stream.set_read_timeout(Some(Duration::from_secs(40)))?;
        stream.set_write_timeout(Some(Duration::from_secs(40)))?;
        Ok(Self { stream, ahead: Vec::new() })
    }

    /// The connection itself.
    pub fn stream(&mut self) -> &mut TcpStream {
        &mut self.stream
    }

    /// Sends bytes.
    pub fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(bytes)
    }

    /// The next answer.
    pub fn answer(&mut self) -> io::Result<Answer> {
        let end = loop {
            match self.ahead.windows(4).position(|w| w == b"\r\n\r\n") {
                Some(end) => break end + 4,
                None => self.more()?,
            }
        };
        let head = String::from_utf8_lossy(&self.ahead[..end]).into_owned();
        self.ahead.drain(..end);
        let mut lines = head.lines();
        let status = lines.next().and_then(|l| l.split(' ').nth(1)).and_then(|s| s.parse().ok());
        let pair =
            |line: &str| line.split_once(':').map(|(n, v)| (n.to_ascii_lowercase(), v.trim().to_owned()));
        let mut answer = Answer {
            status: status.ok_or(io::ErrorKind::InvalidData)?,
            headers: lines.filter_map(pair).collect(),
            body: Vec::new(),
        };
        answer.body = match (answer.header("content-length"), answer.header("transfer-encoding")) {
            (Some(length), _) => self.take(length.parse().map_err(|_| io::ErrorKind::InvalidData)?)?,
            // A stream has no end: its head is all that is waited for.
            (None, Some(_)) if answer.header("content-type") == Some("text/event-stream") => Vec::new(),
            (None, Some(_)) => self.chunks()?,
            (None, None) => Vec::new(),
        };
        Ok(answer)
    }

    /// The next line.
    pub fn line(&mut self) -> io::Result<String> {
        let end = loop {
            match self.ahead.iter().position(|b| *b == b'\n') {
                Some(end) => break end + 1,
                None => self.more()?,
            }
        };
        Ok(String::from_utf8_lossy(&self.take(end)?).trim_end().to_owned())
    }

    fn chunks(&mut self) -> io::Result<Vec<u8>> {
        let mut body = Vec::new();
        loop {
            let size = usize::from_str_radix(&self.line()?, 16).map_err(|_| io::ErrorKind::InvalidData)?;
            body.extend(self.take(size)?);
            self.line()?;
            if size == 0 {
                return Ok(body);
            }
        }
    }

    fn take(&mut self, count: usize) -> io::Result<Vec<u8>> {
        while self.ahead.len() < count {
            self.more()?;
        }
        Ok(self.ahead.drain(..count).collect())
    }

    fn more(&mut self) -> io::Result<()> {
        let mut room = [0; 16 << 10];
        match self.stream.read(&mut room)? {
            0 => Err(io::ErrorKind::UnexpectedEof.into()),
            count => {
                self.ahead.extend(&room[..count]);
                Ok(())
            }
        }
    }
}

/// Sends bytes on a connection of their own, and tells what is answered; nothing if the connection is closed without a word.
///
/// What the server does not want to read to the end, it answers early: that the sending fails is no matter.
pub fn exchange(port: u16, bytes: &[u8]) -> Option<Answer> {
    let mut connection = Connection::open(port).unwrap();
    let mut sender = connection.stream().try_clone().unwrap();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let _ = sender.write_all(bytes);
            let _ = sender.flush();
        });
        connection.answer().ok()
    })
}
