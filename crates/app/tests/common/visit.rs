//! An honest visit: a cookie, the token of its forms, and what a browser sends along by itself.

use super::http::{Answer, Connection, form, request};
use std::io;

/// A visit to a server.
pub struct Visit {
    connection: Connection,
    pub port: u16,
    pub cookie: String,
    pub token: String,
}

impl Visit {
    /// Opens the list of jobs, as everybody begins.
    pub fn begin(port: u16) -> io::Result<Self> {
        Self::opened(port, String::new())
    }

    /// The visit of this name, begun or gone on with.
    pub fn named(port: u16, name: &str) -> io::Result<Self> {
        Self::opened(port, format!("voltwright-{port}={name}"))
    }

    fn opened(port: u16, cookie: String) -> io::Result<Self> {
        let mut visit = Self { connection: Connection::open(port)?, port, cookie, token: String::new() };
        let page = visit.get("/")?;
        if let Some(cookie) = page.header("set-cookie").and_then(|c| c.split(';').next()) {
            cookie.clone_into(&mut visit.cookie);
        }
        visit.token = attribute(&page.text(), "name=\"token\" value=\"").unwrap_or_default();
        Ok(visit)
    }

    /// Goes on over a new connection: one that was idle for long is closed.
    pub fn reconnect(&mut self) {
        self.connection = Connection::open(self.port).unwrap();
    }

    /// The headers that a browser sends with everything.
    pub fn request(&self, line: &str, more: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
        let (host, origin) = (format!("localhost:{}", self.port), format!("http://localhost:{}", self.port));
        let mut headers = vec![("host", host.as_str()), ("cookie", &self.cookie)];
        if !line.starts_with("GET") {
            headers.push(("origin", &origin));
        }
        headers.extend(more);
        request(line, &headers, body)
    }

    /// Asks on the connection that is kept.
    pub fn ask(&mut self, bytes: &[u8]) -> io::Result<Answer> {
        self.send(bytes)?;
        self.answer()
    }

    /// Sends without waiting for the answer.
    pub fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.connection.send(bytes)
    }

    /// The answer to what was sent.
    pub fn answer(&mut self) -> io::Result<Answer> {
        self.connection.answer()
    }

    /// A page.
    pub fn get(&mut self, path: &str) -> io::Result<Answer> {
        let bytes = self.request(&format!("GET {path}"), &[], b"");
        self.ask(&bytes)
    }

    /// A form with its token.
    pub fn posted(&self, path: &str, fields: &[(&str, &str)]) -> Vec<u8> {
        let fields = [&[("token", self.token.as_str())], fields].concat();
        let kind = [("content-type", "application/x-www-form-urlencoded")];
        self.request(&format!("POST {path}"), &kind, &form(&fields))
    }

    /// Sends a form with its token.
    pub fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> io::Result<Answer> {
        let bytes = self.posted(path, fields);
        self.ask(&bytes)
    }

    /// JSON as a page's script sends it.
    pub fn scripted(&self, path: &str, json: &[u8]) -> Vec<u8> {
        let kind = [("content-type", "application/json"), ("x-voltwright-token", &self.token)];
        self.request(&format!("POST {path}"), &kind, json)
    }

    /// Sends JSON as a page's script does.
    pub fn script(&mut self, path: &str, json: &[u8]) -> io::Result<Answer> {
        let bytes = self.scripted(path, json);
        self.ask(&bytes)
    }

    /// A file as a form sends it.
    pub fn uploaded(&self, name: &str, content: &[u8]) -> Vec<u8> {
        self.sent_parts("/new/file", &multipart(&self.token, &[], name, content))
    }

    /// A picture of a job as its form sends it: the note, the view, where pin 1 is.
    pub fn pictured(&self, job: &str, [note, view, pin1]: [&str; 3], name: &str, content: &[u8]) -> Vec<u8> {
        let words = [("note", note), ("view", view), ("pin1", pin1)];
        self.sent_parts(&format!("/job/{job}/picture"), &multipart(&self.token, &words, name, content))
    }

    /// Parts of a form.
    pub fn sent_parts(&self, path: &str, parts: &[u8]) -> Vec<u8> {
        self.request(&format!("POST {path}"), &[("content-type", MULTIPART)], parts)
    }
}

/// The type of [`multipart`].
pub const MULTIPART: &str = "multipart/form-data; boundary=cut";

/// A token, other fields and a file as the parts of a form.
pub fn multipart(token: &str, fields: &[(&str, &str)], name: &str, content: &[u8]) -> Vec<u8> {
    let fields = [&[("token", token)], fields].concat();
    let fields: String = fields.iter().map(|(name, value)| part(name, value)).collect();
    [fields.as_bytes(), &file(name, content), b"--cut--\r\n"].concat()
}

/// A field as a part.
pub fn part(name: &str, value: &str) -> String {
    format!("--cut\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n")
}

/// A file as a part.
pub fn file(name: &str, content: &[u8]) -> Vec<u8> {
    let head = format!("--cut\r\ncontent-disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n");
    [head.as_bytes(), content, b"\r\n"].concat()
}

/// The first value after these words, up to the quote.
pub fn attribute(page: &str, before: &str) -> Option<String> {
    let (_, after) = page.split_once(before)?;
    after.split_once('"').map(|(value, _)| value.to_owned())
}
