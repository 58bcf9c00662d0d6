//! Dates and times of day written another way than the language's.

use jiff::civil::{Date, Time};

use crate::findings::FixKind;

/// What a text that is no date can have been meant as; a single meaning follows from the text.
pub(super) fn date_meant(text: &str) -> Vec<(Date, FixKind)> {
    let parts: Vec<&str> = text.trim().split(['-', '.', '/', ' ']).collect();
    let numbers: Option<Vec<i16>> = parts.iter().map(|part| part.parse().ok()).collect();
    let (Some(numbers), [first, _, last]) = (numbers, parts.as_slice()) else { return Vec::new() };
    let [a, b, c] = numbers.as_slice() else { return Vec::new() };
    let date = |year: i16, month: i16, day: i16| Date::new(year, month.try_into().ok()?, day.try_into().ok()?).ok();
    let mut dates: Vec<Date> = match (first.len(), last.len()) {
        (4, _) => date(*a, *b, *c).into_iter().collect(),
        // Day and month can be told apart only where one of them is no month.
        (_, 4) => [date(*c, *b, *a), date(*c, *a, *b)].into_iter().flatten().collect(),
        _ => Vec::new(),
    };
    dates.dedup();
    let kind = if dates.len() == 1 { FixKind::Safe } else { FixKind::Suggested };
    dates.into_iter().map(|date| (date, kind)).collect()
}

/// What a text that is no time of day was meant to be, and whether that can be the only meaning.
pub(super) fn time_meant(text: &str) -> Option<(Time, FixKind)> {
    let text = text.trim().to_lowercase();
    let (text, noon) = match (text.strip_suffix("am"), text.strip_suffix("pm")) {
        (Some(text), _) => (text.trim().to_owned(), Some(0)),
        (_, Some(text)) => (text.trim().to_owned(), Some(12)),
        _ => (text, None),
    };
    let (hour, minute, kind) = match text.split_once([':', '.', 'h']) {
        Some((hour, minute)) => (hour, minute, FixKind::Safe),
        None if text.len() == 4 && text.is_ascii() => (&text[..2], &text[2..], FixKind::Suggested),
        None if text.len() == 3 && text.is_ascii() => (&text[..1], &text[1..], FixKind::Suggested),
        None if noon.is_some() => (text.as_str(), "00", FixKind::Safe),
        None => return None,
    };
    if minute.len() != 2 {
        return None;
    }
    let (hour, minute): (i8, i8) = (hour.parse().ok()?, minute.parse().ok()?);
    let hour = match noon {
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(noon) => hour % 12 + noon,
        None => hour,
    };
    Time::new(hour, minute, 0, 0).ok().map(|time| (time, kind))
}

/// Why a text that has the form of a date is none: "February 2027 has 28 days".
pub(super) fn no_such_day(text: &str) -> Option<String> {
    let parts: Vec<i16> = text.split('-').map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let [year, month, day] = parts.as_slice() else { return None };
    let month = i8::try_from(*month).ok()?;
    if !(1..=12).contains(&month) {
        return Some(format!("there is no month {month}"));
    }
    let days = Date::new(*year, month, 1).ok()?.days_in_month();
    if (1..=i16::from(days)).contains(day) {
        return None;
    }
    let name = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ]
    .get(usize::try_from(month - 1).ok()?)?;
    Some(format!("{name} {year} has {days} days"))
}

/// A time of day as the language writes it.
pub(super) fn written_time(time: Time) -> String {
    format!("{:02}:{:02}", time.hour(), time.minute())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn dates_of_other_customs_are_told() {
        let meant = |text| date_meant(text).iter().map(|(date, kind)| (date.to_string(), *kind)).collect::<Vec<_>>();
        for text in ["2027-5-15", "2027/05/15", "15.05.2027", "05/15/2027"] {
            assert_eq!(meant(text), [("2027-05-15".to_owned(), FixKind::Safe)], "{text}");
        }
        assert_eq!(meant("05/05/2027"), [("2027-05-05".to_owned(), FixKind::Safe)]);
        // The fourth of May or the fifth of April.
        let either = ["2027-05-04", "2027-04-05"].map(|date| (date.to_owned(), FixKind::Suggested));
        assert_eq!(meant("04/05/2027"), either);
        for text in ["", "Saturday", "2027-02-30", "15.05.27", "1-2-3-4", "99999-1-1"] {
            assert_eq!(meant(text), [], "{text}");
        }
    }

    #[test]
    fn times_of_other_customs_are_told() {
        let meant = |text| time_meant(text).map(|(time, kind)| (written_time(time), kind));
        assert_eq!(meant("9:40"), Some(("09:40".to_owned(), FixKind::Safe)));
        assert_eq!(meant("9.40"), Some(("09:40".to_owned(), FixKind::Safe)));
        assert_eq!(meant("0940"), Some(("09:40".to_owned(), FixKind::Suggested)));
        assert_eq!(meant("1:15 pm"), Some(("13:15".to_owned(), FixKind::Safe)));
        assert_eq!(meant("12:05am"), Some(("00:05".to_owned(), FixKind::Safe)));
        assert_eq!(meant("9 am"), Some(("09:00".to_owned(), FixKind::Safe)));
        for text in ["", "noon", "25:00", "9:60", "13:00 pm", "é40", "9:4"] {
            assert_eq!(meant(text), None, "{text}");
        }
    }

    #[test]
    fn a_day_that_does_not_exist_is_told_why() {
        assert_eq!(no_such_day("2027-02-29").unwrap(), "February 2027 has 28 days");
        assert_eq!(no_such_day("2028-02-30").unwrap(), "February 2028 has 29 days");
        assert_eq!(no_such_day("2027-13-01").unwrap(), "there is no month 13");
        assert_eq!(no_such_day("2027-05-15"), None);
    }
}
