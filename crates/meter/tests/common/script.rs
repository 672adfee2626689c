//! An instrument that plays a script, on the network or on a pseudo-terminal.

use std::io::{ErrorKind, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;
use std::time::Duration;
use voltwright_meter::Address;

/// No script takes longer than this; a test that waits for more fails.
const LONGEST: Duration = Duration::from_secs(20);
/// The pause between the bytes of an instrument that dribbles.
const PAUSE: Duration = Duration::from_millis(2);
/// An instrument that could dribble so many bytes was not stopped.
const MOST_DRIBBLED: usize = 3000;

/// One thing the instrument does.
#[derive(Clone)]
pub enum Act {
    /// Waits for a question, on the newest connection, and fails if it is another.
    Hear(String),
    /// Sends this, as it is.
    Say(Vec<u8>),
    /// Sends a digit, and another, until it is asked anything or the connection is closed.
    Dribble,
    /// Closes the connection.
    HangUp,
}

/// Hears this question.
pub fn hear(question: &str) -> Act {
    Act::Hear(question.to_owned())
}

/// Says this with a line feed after it.
pub fn say(answer: &str) -> Act {
    Act::Say(format!("{answer}\n").into_bytes())
}

/// An instrument at work.
pub struct Bench {
    /// Where it is.
    pub address: Address,
    over: Receiver<Wire>,
    hung_up: Receiver<()>,
}

impl Bench {
    /// Waits until the instrument has closed its connection.
    pub fn wait_for_hang_up(&self) {
        self.hung_up.recv_timeout(LONGEST).expect("the instrument never hung up");
    }

    /// Waits for the end of the script; fails if it was not played to its end.
    pub fn end(self) {
        self.over.recv_timeout(LONGEST).expect("the script was not played to its end");
    }
}

/// An instrument on the network.
pub fn on_network(script: Vec<Act>) -> Bench {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("tcp:{}", listener.local_addr().unwrap());
    play(&address, Wire::Network { listener, stream: None }, script)
}

/// An instrument on a pseudo-terminal. The far end is kept open here, so that it outlives a connection.
pub fn on_serial(script: Vec<Act>) -> Bench {
    use serialport::SerialPort;
    let (near, far) = serialport::TTYPort::pair().unwrap();
    let address = format!("serial:{}", far.name().unwrap());
    play(&address, Wire::Serial { near: Some(near), _far: far }, script)
}

fn play(address: &str, mut wire: Wire, script: Vec<Act>) -> Bench {
    let (ended, over) = mpsc::channel();
    let (closed, hung_up) = mpsc::channel();
    thread::spawn(move || {
        for act in script {
            wire.act(act, &closed);
        }
        ended.send(wire)
    });
    Bench { address: Address::parse(address).unwrap(), over, hung_up }
}

/// The instrument's end of a connection.
enum Wire {
    Network { listener: TcpListener, stream: Option<TcpStream> },
    Serial { near: Option<serialport::TTYPort>, _far: serialport::TTYPort },
}

/// What a wait for a byte ends with.
enum Heard {
    Byte(u8),
    Nothing,
    Closed,
}

impl Wire {
    fn act(&mut self, act: Act, closed: &Sender<()>) {
        match act {
            Act::Hear(question) => assert_eq!(self.line(), question),
            Act::Say(bytes) => self.write(&bytes),
            Act::Dribble => self.dribble(),
            Act::HangUp => {
                self.close();
                closed.send(()).ok();
            }
        }
    }

    /// The next whole question; what was left unfinished by a connection that closed is forgotten.
    fn line(&mut self) -> String {
        let mut line = Vec::new();
        loop {
            match self.byte(LONGEST) {
                Heard::Byte(b'\n') => return String::from_utf8(line).unwrap(),
                Heard::Byte(byte) => line.push(byte),
                Heard::Nothing => panic!("nothing was asked"),
                Heard::Closed => {
                    self.close();
                    line.clear();
                }
            }
        }
    }

    /// Leaves the question that stops it to be heard, but for its first byte, which it must put back: so it peeks.
    fn dribble(&mut self) {
        for _ in 0..MOST_DRIBBLED {
            self.write(b"1");
            if self.is_asked() {
                return;
            }
        }
        panic!("nobody stopped the instrument");
    }

    fn is_asked(&mut self) -> bool {
        match self {
            Wire::Network { stream, .. } => {
                let stream = stream.as_mut().unwrap();
                stream.set_read_timeout(Some(PAUSE)).unwrap();
                !matches!(stream.peek(&mut [0]), Err(error) if is_wait(error.kind()))
            }
            Wire::Serial { near, .. } => {
                thread::sleep(PAUSE);
                serialport::SerialPort::bytes_to_read(near.as_ref().unwrap()).unwrap() > 0
            }
        }
    }

    fn byte(&mut self, wait: Duration) -> Heard {
        let mut byte = [0];
        let read = match self {
            Wire::Network { listener, stream } => {
                let stream = stream.get_or_insert_with(|| listener.accept().unwrap().0);
                stream.set_read_timeout(Some(wait)).unwrap();
                stream.read(&mut byte)
            }
            Wire::Serial { near, .. } => {
                let near = near.as_mut().unwrap();
                serialport::SerialPort::set_timeout(near, wait).unwrap();
                near.read(&mut byte)
            }
        };
        match read {
            Ok(1) => Heard::Byte(byte[0]),
            Err(error) if is_wait(error.kind()) => Heard::Nothing,
            _ => Heard::Closed,
        }
    }

    /// Whether it arrives is the meter's affair: the connection may have been closed meanwhile.
    fn write(&mut self, bytes: &[u8]) {
        match self {
            Wire::Network { stream, .. } => stream.as_mut().unwrap().write_all(bytes).ok(),
            Wire::Serial { near, .. } => near.as_mut().unwrap().write_all(bytes).ok(),
        };
    }

    fn close(&mut self) {
        match self {
            Wire::Network { stream, .. } => drop(stream.take()),
            Wire::Serial { near, .. } => drop(near.take()),
        }
    }
}

fn is_wait(kind: ErrorKind) -> bool {
    matches!(kind, ErrorKind::WouldBlock | ErrorKind::TimedOut)
}
