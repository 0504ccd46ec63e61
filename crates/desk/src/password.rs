//! Passwords: only what Argon2id makes of them is kept. It takes a tenth of a second and 64 MiB each time, on purpose, and so it is done beside
//! what serves, a few at a time.

use argon2::password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};
use std::sync::{Arc, LazyLock};
use tokio::sync::Semaphore;
use unicode_normalization::UnicodeNormalization;

/// What a guess costs: the second choice that RFC 9106, section 4, recommends (where there is no memory for the first): 64 MiB, 3 passes,
/// 4 lanes.
const MEMORY_KIB: u32 = 64 * 1024;
const PASSES: u32 = 3;
const LANES: u32 = 4;
/// How many are computed at the same time: what they take of the machine is bounded however many ask.
const AT_ONCE: usize = 2;

/// The fewest letters of a password: what a list of common ones holds is shorter, and guesses are slow.
pub(crate) const SHORTEST: usize = 12;
/// The longest password, bytes: it is hashed whole.
const LONGEST: usize = 1024;

static TURNS: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(AT_ONCE)));

fn argon2() -> Argon2<'static> {
    let params = Params::new(MEMORY_KIB, PASSES, LANES, None);
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params.unwrap_or_else(|why| panic!("parameters: {why}")))
}

/// Whether it is one that can be used: long enough, and none that its owner's name tells.
pub(crate) fn is_fit(password: &str, name: &str) -> bool {
    let told = password.to_lowercase() == name.to_lowercase();
    password.chars().count() >= SHORTEST && password.len() <= LONGEST && !told
}

/// What is kept of a password, in the PHC string format.
pub(crate) async fn kept(password: &str, salt: [u8; 16]) -> String {
    let password = as_typed(password);
    computed(move || hash(&password, &salt)).await
}

/// Whether it is the password of which `kept` was kept. Where nothing was kept it is none, and takes as long.
pub(crate) async fn is_it(password: &str, kept: Option<String>) -> bool {
    if password.len() > LONGEST {
        return false;
    }
    let password = as_typed(password);
    let kept = kept.unwrap_or_else(of_nobody);
    computed(move || verifies(&password, &kept)).await
}

/// One form for letters that keyboards make in several ways (RFC 8265, section 4.2: NFC).
fn as_typed(password: &str) -> String {
    password.nfc().collect()
}

fn hash(password: &str, salt: &[u8; 16]) -> String {
    let salt = SaltString::encode_b64(salt).unwrap_or_else(|why| panic!("a salt: {why}"));
    let hash = argon2().hash_password(password.as_bytes(), &salt);
    hash.unwrap_or_else(|why| panic!("a hash: {why}")).to_string()
}

fn verifies(password: &str, kept: &str) -> bool {
    PasswordHash::new(kept).is_ok_and(|kept| argon2().verify_password(password.as_bytes(), &kept).is_ok())
}

/// What no password is known to make.
fn of_nobody() -> String {
    let (salt, hash) = ("A".repeat(22), "A".repeat(43));
    format!("$argon2id$v=19$m={MEMORY_KIB},t={PASSES},p={LANES}${salt}${hash}")
}

/// Computes beside what serves, when there is a turn.
async fn computed<T: Send + 'static>(what: impl FnOnce() -> T + Send + 'static) -> T {
    let turn = Arc::clone(&TURNS).acquire_owned().await;
    let done = tokio::task::spawn_blocking(move || {
        // Held until it is done, though whoever asked may have gone away.
        let _turn = turn;
        what()
    });
    done.await.unwrap_or_else(|why| panic!("a hash: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_password_is_known_again_and_no_other_is() {
        let kept = kept("rope over the edge", [7; 16]).await;
        assert!(kept.starts_with("$argon2id$v=19$m=65536,t=3,p=4$"), "{kept}");
        assert!(is_it("rope over the edge", Some(kept.clone())).await);
        assert!(!is_it("rope over the ledge", Some(kept)).await);
        assert!(!is_it("rope over the edge", None).await);
    }

    #[tokio::test]
    async fn the_same_letters_made_in_another_way_are_the_same_password() {
        let kept = kept("Seil u\u{308}ber Kante", [1; 16]).await;
        assert!(is_it("Seil \u{fc}ber Kante", Some(kept)).await);
    }

    /// Made by another program, argon2-cffi 25.1 over the reference implementation in C, by
    /// `low_level.hash_secret(b"a knot in the end", bytes(range(16)), 3, 65536, 4, 32, Type.ID)`.
    #[test]
    fn what_the_reference_implementation_made_is_verified() {
        let made = include_str!("../tests/argon2id.txt").trim();
        assert!(verifies("a knot in the end", made));
        assert_eq!(hash("a knot in the end", &std::array::from_fn(|at| u8::try_from(at).unwrap_or(0))), made);
        assert!(!verifies("a knot in the End", made));
    }

    #[test]
    fn short_ones_and_names_are_no_passwords() {
        assert!(!is_fit("eleven lett", "Anna"));
        assert!(is_fit("twelve letts", "Anna"));
        assert!(!is_fit("anna EXAMPLE-long", "Anna Example-Long"));
        assert!(!is_fit(&"a".repeat(LONGEST + 1), "Anna"));
    }
}
