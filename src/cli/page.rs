//! Standard output as a page for people: in plain ASCII where the locale can't show more.

use std::env;
use std::io::{self, BufWriter, StdoutLock, Write};

/// Standard output for a page that people read.
pub(super) fn page() -> Box<dyn Write> {
    if shows_all() { Box::new(BufWriter::new(io::stdout().lock())) } else { Box::new(Plain::new(io::stdout().lock())) }
}

/// Whether the locale shows whatever is written. Where none is set, as on systems that know none, it does.
fn shows_all() -> bool {
    let set = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().filter_map(env::var_os).find(|value| !value.is_empty());
    set.is_none_or(|locale| {
        let locale = locale.to_string_lossy().to_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    })
}

/// What stands in a sign's place.
fn plain(sign: char) -> Option<&'static str> {
    Some(match sign {
        '−' | '–' | '─' | '━' | '┬' | '┴' => "-",
        '│' | '·' | '╭' | '╰' | '╮' | '╯' | '├' | '┤' | '┼' => match sign {
            '·' => ".",
            '│' => "|",
            _ => "+",
        },
        '°' => "deg ",
        '…' => "...",
        '×' => "x",
        '³' => "3",
        '²' => "2",
        'Σ' => "sum",
        '∫' => "integral",
        'φ' => "phi",
        'τ' => "tau",
        '→' => "->",
        '≤' => "<=",
        '≥' => ">=",
        '’' | '‘' => "'",
        '“' | '”' => "\"",
        '▶' => ">",
        _ => return None,
    })
}

/// Writes what is no ASCII as what stands in its place; what nothing stands for, as `?`.
struct Plain {
    out: BufWriter<StdoutLock<'static>>,
    /// The beginning of a character that the last piece ended in.
    begun: Vec<u8>,
}

impl Plain {
    fn new(out: StdoutLock<'static>) -> Plain {
        Plain { out: BufWriter::new(out), begun: Vec::new() }
    }
}

impl Write for Plain {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.begun.extend_from_slice(bytes);
        let whole = match std::str::from_utf8(&self.begun) {
            Ok(text) => text.len(),
            Err(error) => error.valid_up_to(),
        };
        let rest = self.begun.split_off(whole);
        let text = std::mem::replace(&mut self.begun, rest);
        self.out.write_all(ascii(&String::from_utf8_lossy(&text)).as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

fn ascii(text: &str) -> String {
    let mut plain_text = String::with_capacity(text.len());
    for sign in text.chars() {
        match plain(sign) {
            _ if sign.is_ascii() => plain_text.push(sign),
            Some(plain) => plain_text.push_str(plain),
            None => plain_text.push('?'),
        }
    }
    plain_text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_have_others_in_their_places() {
        assert_eq!(ascii("−5:00 · 9 °C … m³ → é"), "-5:00 . 9 deg C ... m3 -> ?");
        assert_eq!(ascii("╭─[a.plan.kdl:1:2]\n│ ╰──"), "+-[a.plan.kdl:1:2]\n| +--");
    }
}
