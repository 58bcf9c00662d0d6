//! Names that may have been meant.

/// How many names are proposed at most.
const MOST: usize = 3;

/// The longest name that is compared, bytes.
const LONGEST: usize = 64;

/// The candidates that `name` may be a slip for, the likeliest first: those that differ in case alone, then by the
/// fewest letters changed, then by name.
pub(super) fn nearest<'c>(name: &str, candidates: impl Iterator<Item = &'c str>) -> Vec<&'c str> {
    // No name is this long, and distance takes time with the product of lengths.
    if name.len() > LONGEST {
        return Vec::new();
    }
    let folded = name.to_lowercase();
    // A third of the letters may be wrong; with more, it is another name.
    let bound = (name.chars().count() / 3).max(1);
    let mut near: Vec<(usize, &str)> = candidates
        .filter(|candidate| *candidate != name && candidate.len() <= LONGEST)
        .map(|candidate| (strsim::osa_distance(&folded, &candidate.to_lowercase()), candidate))
        .filter(|(distance, _)| *distance <= bound)
        .collect();
    near.sort_unstable();
    near.dedup();
    near.truncate(MOST);
    near.into_iter().map(|(_, candidate)| candidate).collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn nearest_first_and_nothing_far() {
        let names = ["S12-04", "S12-09", "S7-11", "D12-2"];
        assert_eq!(nearest("s12-04", names.into_iter()), ["S12-04", "S12-09"]);
        assert_eq!(nearest("S12-40", names.into_iter()), ["S12-04", "S12-09"]);
        assert_eq!(nearest("Rowan", names.into_iter()), Vec::<&str>::new());
    }
}
