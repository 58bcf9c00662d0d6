//! What everything drawn in the tests starts from. Unsaid it is fixed, so that a change is never held up by a case it has
//! nothing to do with; `LEADSMAN_SEED=random` draws another one and prints it, `LEADSMAN_SEED=<number>` repeats it.

use std::hash::{BuildHasher, Hasher, RandomState};
use std::io::Write as _;
use std::sync::LazyLock;

use proptest::prelude::ProptestConfig;
use proptest::test_runner::RngSeed;

/// What the variable says; nothing where it says nothing.
static SAID: LazyLock<Option<u64>> = LazyLock::new(|| {
    let seed = read(std::env::var("LEADSMAN_SEED").ok().as_deref())?;
    // Past the harness, which keeps what a test that passes prints.
    let _ = writeln!(std::io::stderr(), "LEADSMAN_SEED={seed} repeats what is drawn here");
    Some(seed)
});

fn read(said: Option<&str>) -> Option<u64> {
    match said? {
        "" => None,
        "random" => Some(RandomState::new().build_hasher().finish()),
        number => Some(number.parse().unwrap_or_else(|_| panic!("LEADSMAN_SEED is a number or `random`: {number:?}"))),
    }
}

/// The seed of something made by hand, its own unless the variable says another.
pub(crate) fn or(own: u64) -> u64 {
    SAID.unwrap_or(own)
}

/// How properties are tried: so many cases from the seed. A case that fails is repeated by its seed, so it is not kept
/// beside the tests.
pub(crate) fn properties(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, rng_seed: RngSeed::Fixed(or(20_270_515)), failure_persistence: None, ..Default::default() }
}

#[test]
fn a_seed_is_fixed_drawn_or_repeated() {
    assert_eq!((read(None), read(Some("")), read(Some("7"))), (None, None, Some(7)));
    assert_ne!(read(Some("random")), read(Some("random")));
    assert!(std::panic::catch_unwind(|| read(Some("seven"))).is_err());
}
