//! Text that may be shown: nothing in it moves the cursor, hides, or turns the reading direction.

use std::borrow::Cow;

/// What is shown in a character's place; `None` for one that is shown as it is. Tabs and line breaks are control
/// characters too.
pub(crate) fn shown(c: char) -> Option<String> {
    match c {
        '\0'..='\u{1f}' => char::from_u32(0x2400 + c as u32).map(String::from),
        '\u{7f}' => Some('\u{2421}'.to_string()),
        // C1 controls, some of which terminals obey; marks, embeddings, overrides and isolates of direction; line and
        // paragraph separators; what has no width and no meaning in a plan.
        '\u{80}'..='\u{9f}'
        | '\u{ad}'
        | '\u{61c}'
        | '\u{180e}'
        | '\u{200b}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}'
        | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}' => Some(format!("<U+{:04X}>", c as u32)),
        _ => None,
    }
}

/// A text on one line with everything made visible that could mislead: line breaks and tabs among it.
pub(crate) fn clean(text: &str) -> Cow<'_, str> {
    if text.chars().all(|c| shown(c).is_none()) {
        return Cow::Borrowed(text);
    }
    let mut clean = String::with_capacity(text.len());
    for c in text.chars() {
        match shown(c) {
            Some(shown) => clean.push_str(&shown),
            None => clean.push(c),
        }
    }
    Cow::Owned(clean)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_mislead_is_made_visible() {
        assert_eq!(clean("m³ °C é 😀"), "m³ °C é 😀");
        assert_eq!(clean("\u{1b}[2Jgone\r\n"), "␛[2Jgone␍␊");
        assert_eq!(clean("a\u{202e}b\u{9b}c"), "a<U+202E>b<U+009B>c");
    }
}
