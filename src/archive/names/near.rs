//! Names that may have been meant.

/// How many names are proposed at most.
const MOST: usize = 3;

/// The longest name that is compared, bytes.
const LONGEST: usize = 64;

/// The candidates that `name` may be a slip for, the likeliest first: those that differ in case alone, then by the
/// fewest letters changed, then those that `fits` says yes to, then by name.
pub(in crate::archive) fn nearest<'c>(
    name: &str,
    candidates: impl Iterator<Item = &'c str>,
    fits: impl Fn(&str) -> bool,
) -> Vec<&'c str> {
    // No name is this long, and distance takes time with the product of lengths.
    if name.len() > LONGEST {
        return Vec::new();
    }
    let folded = name.to_lowercase();
    // A third of the letters may be wrong; with more, it is another name.
    let bound = (name.chars().count() / 3).max(1);
    let known = candidates.filter(|candidate| *candidate != name && candidate.len() <= LONGEST);
    let mut near: Vec<(usize, bool, &str)> = known
        .map(|candidate| (strsim::osa_distance(&folded, &candidate.to_lowercase()), candidate))
        .filter(|(distance, _)| *distance <= bound)
        .map(|(distance, candidate)| (distance, !fits(candidate), candidate))
        .collect();
    near.sort_unstable();
    near.dedup();
    near.truncate(MOST);
    near.into_iter().map(|(.., candidate)| candidate).collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn nearest_first_and_nothing_far() {
        let near = |name: &str, fits: fn(&str) -> bool| {
            nearest(name, ["S12-04", "S12-09", "S7-11", "D12-2"].into_iter(), fits)
        };
        assert_eq!(near("s12-04", |_| true), ["S12-04", "S12-09"]);
        assert_eq!(near("S12-40", |_| true), ["S12-04", "S12-09"]);
        assert_eq!(near("Rowan", |_| true), Vec::<&str>::new());
        // Of two that are as near, the one that fits.
        assert_eq!(near("S12-05", |name| name != "S12-04"), ["S12-09", "S12-04"]);
    }
}
