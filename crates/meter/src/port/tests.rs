use super::*;
use std::io::{Read, Write};

/// Sends the same line for ever; the other way takes anything.
struct Endless(&'static [u8]);

impl Read for Endless {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.0.len().min(buffer.len());
        buffer[..count].copy_from_slice(&self.0[..count]);
        Ok(count)
    }
}

impl Write for Endless {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Stream for Endless {
    fn wait_at_most(&mut self, _: Duration) -> io::Result<()> {
        Ok(())
    }
}

fn port(line: &'static [u8]) -> Port {
    Port { stream: Box::new(Endless(line)), received: VecDeque::new() }
}

fn ample() -> Deadline {
    Deadline::after(Duration::from_secs(600))
}

fn short() -> Deadline {
    Deadline::after(Duration::from_millis(20))
}

#[test]
fn a_meter_that_never_stops_sending_is_not_drained_for_ever() {
    assert_eq!(port(b"7\n").drain(ample()), Err(Fault::TooLong));
}

#[test]
fn lines_that_are_not_wanted_are_passed_over_until_the_time_is_over() {
    let nothing = port(b"7\n").ask("X?", short(), |_| None::<()>);
    assert_eq!(nothing, Err(Fault::Silent));
}

#[test]
fn empty_lines_are_passed_over_until_the_time_is_over() {
    assert_eq!(port(b"\r\n").ask("X?", short(), |_| Some(())), Err(Fault::Silent));
}

#[test]
fn a_line_without_an_end_is_too_long() {
    assert_eq!(port(b"7").ask("X?", ample(), |_| Some(())), Err(Fault::TooLong));
}

#[test]
fn without_time_nothing_is_asked() {
    let over = Deadline::after(Duration::ZERO);
    assert_eq!(port(b"7\n").ask("X?", over, |_| Some(())), Err(Fault::Silent));
    assert_eq!(port(b"7\n").drain(over), Err(Fault::Silent));
}
