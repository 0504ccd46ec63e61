//! How often a password may be tried: enough for slips, too slow for guesses. Nobody is locked out by what others try: an address from which
//! somebody came in before has tries of its own, and for the others there is always another minute.

use governor::clock::{Clock, MonotonicClock};
use governor::middleware::NoOpMiddleware;
use governor::state::keyed::HashMapStateStore;
use governor::{Quota, RateLimiter};
use std::collections::HashSet;
use std::hash::Hash;
use std::net::{IpAddr, Ipv6Addr};
use std::num::NonZeroU32;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Tries of one account in a row, and how long until there is another.
const OF_ACCOUNT: (u32, Duration) = (10, Duration::from_secs(60));
/// Tries from one address, whatever the account: a school may stand behind it.
const FROM_ADDRESS: (u32, Duration) = (40, Duration::from_secs(10));
/// The letters of a name that count; longer ones are nobody's.
const LETTERS: usize = 100;
/// After how many tries those that no longer count are swept away, and how many known addresses are kept.
const SWEPT_AFTER: u32 = 1000;
const KNOWN: usize = 10_000;

type Limit<K> = RateLimiter<K, HashMapStateStore<K>, MonotonicClock, NoOpMiddleware<std::time::Instant>>;

/// Where an account is tried from.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Tried {
    /// From an address from which its owner came in.
    FromKnown(String, IpAddr),
    /// From anywhere else.
    ByStrangers(String),
}

/// The tries of late.
pub struct Guesses {
    of_account: Limit<Tried>,
    from_address: Limit<IpAddr>,
    known: Mutex<HashSet<(String, IpAddr)>>,
    tries: AtomicU32,
}

impl Guesses {
    pub fn new() -> Self {
        let (of_account, from_address) = (limit(OF_ACCOUNT), limit(FROM_ADDRESS));
        Self { of_account, from_address, known: Mutex::default(), tries: AtomicU32::new(0) }
    }

    /// Counts a try; where there were too many, how long until there is another.
    pub fn may_try(&self, name: &str, from: IpAddr) -> Result<(), Duration> {
        self.sweep();
        let (name, from) = (counted(name), network(from));
        let is_known = self.known.lock().unwrap_or_else(PoisonError::into_inner).contains(&(name.clone(), from));
        let tried = if is_known { Tried::FromKnown(name, from) } else { Tried::ByStrangers(name) };
        checked(&self.from_address, &from)?;
        checked(&self.of_account, &tried)
    }

    /// The password was right: this address is one of its owner's.
    pub fn came_in(&self, name: &str, from: IpAddr) {
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= KNOWN {
            known.clear();
        }
        known.insert((counted(name), network(from)));
    }

    fn sweep(&self) {
        if self.tries.fetch_add(1, Ordering::Relaxed) % SWEPT_AFTER == SWEPT_AFTER - 1 {
            self.of_account.retain_recent();
            self.from_address.retain_recent();
        }
    }
}

fn limit<K: Hash + Eq + Clone>((tries, every): (u32, Duration)) -> Limit<K> {
    let quota = Quota::with_period(every).zip(NonZeroU32::new(tries));
    let (quota, tries) = quota.unwrap_or_else(|| unreachable!("neither is zero"));
    RateLimiter::new(quota.allow_burst(tries), HashMapStateStore::default(), MonotonicClock)
}

fn checked<K: Hash + Eq + Clone>(limit: &Limit<K>, key: &K) -> Result<(), Duration> {
    limit.check_key(key).map_err(|not| not.wait_time_from(MonotonicClock.now()))
}

fn counted(name: &str) -> String {
    name.trim().chars().take(LETTERS).collect()
}

/// Whoever has an address of version 6 has the 64 bits behind its network as well.
fn network(from: IpAddr) -> IpAddr {
    match from.to_canonical() {
        IpAddr::V4(from) => from.into(),
        IpAddr::V6(from) => Ipv6Addr::from(u128::from(from) >> 64 << 64).into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> IpAddr {
        text.parse().expect("an address")
    }

    #[test]
    fn after_ten_slips_there_is_a_minute_to_wait() {
        let guesses = Guesses::new();
        for _ in 0..10 {
            assert_eq!(guesses.may_try("Anna", at("10.0.0.1")), Ok(()));
        }
        let wait = guesses.may_try("Anna", at("10.0.0.2")).expect_err("an eleventh, from anywhere");
        assert!(wait <= Duration::from_secs(60) && wait > Duration::from_secs(50), "{wait:?}");
        assert_eq!(guesses.may_try("Bea", at("10.0.0.1")), Ok(()));
    }

    #[test]
    fn whoever_came_in_before_is_not_locked_out_by_others() {
        let guesses = Guesses::new();
        guesses.came_in("Anna", at("10.0.0.9"));
        for guess in 0..30 {
            let _ = guesses.may_try("Anna", at(&format!("10.1.0.{guess}")));
        }
        assert!(guesses.may_try("Anna", at("10.1.0.99")).is_err());
        assert_eq!(guesses.may_try("Anna", at("10.0.0.9")), Ok(()));
    }

    #[test]
    fn one_address_tries_no_more_names_than_slips_allow() {
        let guesses = Guesses::new();
        let tried = (0..100).filter(|name| guesses.may_try(&format!("name {name}"), at("2001:db8::1")).is_ok()).count();
        assert_eq!(tried, 40);
        assert!(guesses.may_try("another", at("2001:db8::ffff:1")).is_err(), "of the same network");
        assert_eq!(guesses.may_try("another", at("2001:db8:0:1::1")), Ok(()));
    }
}
