//! A code that lets one device in, once, for a few minutes.

use super::secret;
use voltwright_workshop::Moment;

/// A code is open for so long, milliseconds.
const OPEN: u64 = 5 * 60 * 1000;
/// Wrong codes after which the open one is void.
const TRIES: u32 = 5;

/// The code that is open, if one is.
#[derive(Debug, Default)]
pub struct Pairing {
    open: Option<Open>,
}

#[derive(Debug)]
struct Open {
    code: String,
    until: Moment,
    wrong: u32,
}

impl Pairing {
    /// Opens a code in place of any other.
    pub fn open(&mut self, code: String, now: Moment) {
        self.open = Some(Open { code, until: Moment(now.0 + OPEN), wrong: 0 });
    }

    /// The code that is open, and until when.
    pub fn shown(&self, now: Moment) -> Option<(&str, Moment)> {
        self.open.as_ref().filter(|open| now < open.until).map(|open| (open.code.as_str(), open.until))
    }

    /// Uses a code up; tells whether it was the open one. Spaces and small letters do not matter.
    pub fn take(&mut self, code: &str, now: Moment) -> bool {
        let said: String =
            code.chars().filter(|c| c.is_ascii_alphanumeric()).collect::<String>().to_ascii_uppercase();
        let Some(open) = self.open.as_mut().filter(|open| now < open.until) else {
            self.open = None;
            return false;
        };
        let right = secret::same(&open.code, &said);
        open.wrong += u32::from(!right);
        if right || open.wrong >= TRIES {
            self.open = None;
        }
        right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn opened() -> Pairing {
        let mut pairing = Pairing::default();
        pairing.open("ABCDE23456".into(), Moment(1000));
        pairing
    }

    #[test]
    fn a_code_is_taken_once() {
        let mut pairing = opened();
        assert!(pairing.take("abcde 23456", Moment(2000)));
        assert!(!pairing.take("ABCDE23456", Moment(2000)));
    }

    #[test]
    fn it_closes_with_time_and_after_wrong_tries() {
        let mut pairing = opened();
        assert!(pairing.shown(Moment(1000 + OPEN - 1)).is_some());
        assert!(!pairing.take("ABCDE23456", Moment(1000 + OPEN)));
        let mut pairing = opened();
        for _ in 0..TRIES {
            assert!(!pairing.take("ZZZZZ22222", Moment(2000)));
        }
        assert!(!pairing.take("ABCDE23456", Moment(2000)));
    }
}
