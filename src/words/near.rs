//! The word that a misspelt one was meant to be.

use std::sync::LazyLock;

use crate::findings::FixKind;

/// Words that people of the trade use for one of ours, with ours.
const MEANT: &[(&str, &str)] = &[
    ("bailout", "bail-out"),
    ("bottle", "cylinder"),
    ("bottom", "stay"),
    ("buddy", "diver"),
    ("checklist", "routine"),
    ("conservatism", "gradient"),
    ("date", "on"),
    ("deco-stop", "stop"),
    ("down", "descend"),
    ("duration", "minutes"),
    ("easy", "light"),
    ("hard", "heavy"),
    ("gas-switch", "switch"),
    ("gf", "gradient"),
    ("helium", "he"),
    ("import", "use"),
    ("include", "use"),
    ("last-stop", "shallowest-stop"),
    ("level-off", "stay"),
    ("lite", "light"),
    ("location", "site"),
    ("max-depth", "depth"),
    ("medical", "fit"),
    ("medium", "moderate"),
    ("oxygen", "o2"),
    ("ppo2", "po2"),
    ("reason", "because"),
    ("rebreather", "unit"),
    ("rmv", "gas"),
    ("safety-stop", "stop"),
    ("scrubber", "canister"),
    ("sensor", "cell"),
    ("sp", "set-point"),
    ("speed", "rate"),
    ("surface-interval", "interval"),
    ("tank", "cylinder"),
    ("temp", "temperature"),
    ("time", "at"),
    ("time", "minutes"),
    ("units", "measures"),
    ("up", "ascend"),
    ("volume", "size"),
    ("wait", "stay"),
    ("why", "because"),
];

/// How far a word may be from what was meant: one slip in a short word, two in a longer one, three in a long one.
fn reach(word: &str) -> usize {
    match word.chars().count() {
        0..=2 => 0,
        3..=5 => 1,
        6..=9 => 2,
        _ => 3,
    }
}

/// Whether writing `word` for `name` mends a slip of the hand, and not a word of the trade that isn't ours.
pub(super) fn kind(name: &str, word: &str) -> FixKind {
    let (name, word) = (plain(name), plain(word));
    let is_slip = strsim::damerau_levenshtein(&name, &word) <= reach(&name).min(reach(&word));
    if is_slip { FixKind::Safe } else { FixKind::Suggested }
}

/// A word without what hands and customs differ in.
fn plain(word: &str) -> String {
    word.to_lowercase().replace(['_', '-', ' '], "")
}

/// The one word of `words` that `name` was clearly meant to be: the nearest by the number of letters added, left out,
/// changed or swapped, if it is near enough and no other is as near. Words of the trade find ours.
pub fn nearest<'w>(name: &str, words: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    // No word is this long, and distance takes time with the product of lengths.
    if name.len() > 64 {
        return None;
    }
    /// The words of the trade without what hands differ in.
    static THEIRS: LazyLock<Vec<(String, &str)>> =
        LazyLock::new(|| MEANT.iter().map(|(theirs, ours)| (plain(theirs), *ours)).collect());
    let written = plain(name);
    let mut best: Option<(usize, &str)> = None;
    let mut tied = false;
    let mut meant = None;
    for word in words {
        if meant.is_none() && THEIRS.iter().any(|(theirs, ours)| *theirs == written && *ours == word) {
            meant = Some(word);
        }
        if best.is_some_and(|(_, other)| other == word) {
            continue;
        }
        let distance = strsim::damerau_levenshtein(&written, &plain(word));
        if distance > reach(&written).min(reach(word)) && distance > 0 {
            continue;
        }
        match best {
            Some((least, _)) if distance == least => tied = true,
            Some((least, _)) if distance > least => {}
            _ => (best, tied) = (Some((distance, word)), false),
        }
    }
    match best {
        Some((_, word)) if !tied => Some(word),
        _ => meant,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEGS: [&str; 6] = ["descend", "stay", "ascend", "stop", "set-point", "switch"];

    #[test]
    fn slips_of_the_hand_find_their_word() {
        for (written, meant) in [
            ("decsend", "descend"),
            ("Descend", "descend"),
            ("setpoint", "set-point"),
            ("set_point", "set-point"),
            ("stya", "stay"),
            ("swich", "switch"),
            ("bottom", "stay"),
        ] {
            assert_eq!(nearest(written, LEGS), Some(meant), "{written}");
        }
    }

    #[test]
    fn what_is_near_nothing_or_two_words_finds_none() {
        // One letter from both `stay` and `stop` or from neither.
        for written in ["stoy", "swim", "x", "", &"s".repeat(1000)] {
            assert_eq!(nearest(written, LEGS), None, "{written}");
        }
    }
}
