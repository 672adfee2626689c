//! Secrets and what is derived from them: random names, tokens of forms, comparison that tells nothing by its time.

use sha2::{Digest, Sha256};
use std::fmt::Write;

/// So many random bytes from the system.
///
/// # Errors
/// The system gives none.
pub fn random<const N: usize>() -> Result<[u8; N], String> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|e| format!("the system gives no random numbers: {e}"))?;
    Ok(bytes)
}

/// A random name of 128 bits, in hexadecimal digits.
///
/// # Errors
/// The system gives no random numbers.
pub fn name() -> Result<String, String> {
    Ok(hex(&random::<16>()?))
}

/// Letters and digits that are not taken for one another when they are read aloud or typed.
const CLEAR: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

/// A code that a person can type: so many letters and digits, 5 bits each.
///
/// # Errors
/// The system gives no random numbers.
pub fn code<const N: usize>() -> Result<String, String> {
    Ok(random::<N>()?.iter().map(|b| char::from(CLEAR[usize::from(b % 32)])).collect())
}

/// The token that forms of a visit carry.
pub fn token(secret: &[u8; 32], visit: &str) -> String {
    let inner = Sha256::new().chain_update(secret).chain_update(visit).finalize();
    hex(&Sha256::new().chain_update(secret).chain_update(inner).finalize())
}

/// Whether two texts are the same, in a time that does not depend on where they differ.
pub fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |differ, (x, y)| differ | (x ^ y)) == 0
}

/// Bytes as hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_belongs_to_its_visit_and_its_secret() {
        let [a, b] = [[1; 32], [2; 32]];
        assert_eq!(token(&a, "one"), token(&a, "one"));
        assert_ne!(token(&a, "one"), token(&a, "two"));
        assert_ne!(token(&a, "one"), token(&b, "one"));
    }

    #[test]
    fn names_and_codes_are_new_each_time() {
        assert_ne!(name().unwrap(), name().unwrap());
        let code = code::<10>().unwrap();
        assert_eq!(code.len(), 10);
        assert!(code.bytes().all(|b| CLEAR.contains(&b)));
    }

    #[test]
    fn only_the_same_is_the_same() {
        assert!(same("abc", "abc") && !same("abc", "abd") && !same("abc", "ab") && same("", ""));
    }
}
