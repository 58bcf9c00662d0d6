//! What would mend a value, as text to write.

use crate::findings::FixKind;
use crate::words::{Measures, Quantity};

/// The number that a text was meant to be, as a plan writes it (with its unit where the text has one), and whether
/// that can be the only meaning.
pub(super) fn number_meant(text: &str, quantity: Quantity, measures: Measures) -> Option<(String, FixKind)> {
    let text = text.trim();
    let end = text.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',' | '-' | '+')).unwrap_or(text.len());
    let (digits, unit) = (&text[..end], text[end..].trim());
    let (number, kind) = plain_number(digits)?;
    if unit.is_empty() {
        return Some((number, kind));
    }
    let unit = quantity.unit(unit).or_else(|| quantity.unit_meant(unit))?;
    let is_bare = quantity.bare_unit(measures).is_some_and(|bare| bare.name == unit.name);
    // A set-point says by its size whether it is percent or bar.
    let says_itself = quantity == Quantity::SetPoint && matches!(unit.name, "percent" | "bar");
    Some((if is_bare || says_itself { number } else { format!("({}){number}", unit.name) }, kind))
}

/// Digits with a point, or with the comma that many write for it, as a number.
fn plain_number(digits: &str) -> Option<(String, FixKind)> {
    let unsigned = digits.strip_prefix(['-', '+']).unwrap_or(digits);
    let (whole, part) = unsigned.split_once(['.', ',']).unwrap_or((unsigned, "0"));
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !is_digits(whole) || !is_digits(part) {
        return None;
    }
    let number = digits.strip_prefix('+').unwrap_or(digits);
    match number.split_once(',') {
        // Some write a comma before each three digits of a whole number.
        Some((whole, part)) if part.len() == 3 => Some((format!("{whole}{part}"), FixKind::Suggested)),
        Some((whole, part)) => Some((format!("{whole}.{part}"), FixKind::Safe)),
        None => Some((number.to_owned(), FixKind::Safe)),
    }
}

/// A fraction that was meant as percent, as percent: `0.36` as `36`.
pub(super) fn as_percent(fraction: f64) -> String {
    // To a hundredth of a percent, so that 0.35 × 100 is 35.
    format!("{}", (fraction * 10_000.0).round() / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_that_were_meant_as_numbers_are_told() {
        let meant = |text, quantity| number_meant(text, quantity, Measures::Metric);
        let safe = |text: &str| Some((text.to_owned(), FixKind::Safe));
        assert_eq!(meant("36%", Quantity::Percent), safe("36"));
        assert_eq!(meant("27 %", Quantity::SetPoint), safe("27"));
        assert_eq!(meant("1.3 bar", Quantity::SetPoint), safe("1.3"));
        assert_eq!(meant("35,8", Quantity::Percent), safe("35.8"));
        assert_eq!(meant("92 ft", Quantity::Depth), safe("(ft)92"));
        assert_eq!(meant("28m", Quantity::Depth), safe("28"));
        assert_eq!(meant("30 sec", Quantity::Duration), safe("(s)30"));
        assert_eq!(meant("12", Quantity::Number), safe("12"));
        assert_eq!(meant("3,000", Quantity::Gauge), Some(("3000".to_owned(), FixKind::Suggested)));
        for text in ["", "deep", "12 parsecs", "1.2.3", "-", ".", "3,00,0", "%"] {
            assert_eq!(meant(text, Quantity::Depth), None, "{text}");
        }
    }

    #[test]
    fn the_unit_of_bare_numbers_is_the_files() {
        assert_eq!(
            number_meant("28 m", Quantity::Depth, Measures::Imperial),
            Some(("(m)28".to_owned(), FixKind::Safe))
        );
        assert_eq!(number_meant("92 ft", Quantity::Depth, Measures::Imperial), Some(("92".to_owned(), FixKind::Safe)));
    }

    #[test]
    fn fractions_become_percent() {
        assert_eq!(as_percent(0.36), "36");
        assert_eq!(as_percent(0.35), "35");
        assert_eq!(as_percent(0.325), "32.5");
    }
}
