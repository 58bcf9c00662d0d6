//! Whatever stands in the file of accepted findings: nothing is hidden that is not named there, and nothing panics.
#![no_main]

use std::sync::Arc;

use leadsman::archive::{Archive, Memory};
use libfuzzer_sys::fuzz_target;

const PLAN: &str = "plan \"Shelf\" on=2027-05-15 status=draft { dive \"one\" { descend 12; stay 20; ascend; }; }\nalow \"x\"\n";

fuzz_target!(|bytes: &[u8]| {
    let club = || Memory::new().file("/club/a.plan.kdl", PLAN);
    let found = |host: Memory| {
        let archive = Archive::open(Arc::new(host), "/club".as_ref());
        archive.check(&archive.walk(&[]), &|| ())
    };
    let (without, with) = (found(club()), found(club().file("/club/leadsman.accepted.json", bytes)));
    for ((file, without), (_, with)) in without.files.iter().zip(&with.files) {
        assert_eq!(without.len(), with.len(), "{file}");
        for (one, other) in without.iter().zip(with) {
            let rule = one.rule.as_bytes();
            let is_named = bytes.windows(rule.len()).any(|part| part == rule);
            assert!(!other.accepted || is_named, "{other:?}");
            assert_eq!((&one.rule, &one.message, &one.place), (&other.rule, &other.message, &other.place));
        }
    }
});
