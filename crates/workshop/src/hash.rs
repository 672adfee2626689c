//! SHA-256 of bytes: the name of a picture's content, and all that is kept of a device's token.

use std::fmt;

use rusqlite::types::{FromSql, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use sha2::{Digest, Sha256};

/// A SHA-256 hash (FIPS 180-4), printed as 64 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Hash(pub [u8; 32]);

impl Hash {
    /// The hash of some bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Reads 64 lower-case hexadecimal digits, the one way in which a hash is printed.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return None;
        }
        let mut hash = [0; 32];
        for (byte, pair) in hash.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = nibble(pair[0])? << 4 | nibble(pair[1])?;
        }
        Some(Self(hash))
    }
}

fn nibble(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        _ => None,
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Hash({self})")
    }
}

impl ToSql for Hash {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        self.0.to_sql()
    }
}

impl FromSql for Hash {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        <[u8; 32]>::column_result(value).map(Self)
    }
}

#[cfg(test)]
mod tests {
    use super::Hash;

    /// The example of FIPS 180-4's companion document "Descriptions of SHA-256, SHA-384 and SHA-512", B.1: "abc".
    /// The value is from memory.
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    #[test]
    fn a_published_hash() {
        assert_eq!(Hash::of(b"abc").to_string(), ABC);
        assert_eq!(Hash::parse(ABC), Some(Hash::of(b"abc")));
    }

    #[test]
    fn only_the_printed_form_is_read() {
        for text in ["", "ba78", &ABC.to_uppercase(), &ABC.replace('b', "x"), &format!("{ABC}0")] {
            assert_eq!(Hash::parse(text), None, "{text}");
        }
    }
}
