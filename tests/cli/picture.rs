//! The picture of a screen that the README shows: what the command prints, drawn.

use std::fmt::Write;
use std::path::Path;

use super::leadsman;

/// A character takes so many units, and a line.
const WIDE: f64 = 8.4;
const HIGH: f64 = 19.0;
/// What is left free around.
const EDGE: f64 = 16.0;

/// How what is printed is set off.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Style {
    bold: bool,
    dim: bool,
    underlined: bool,
    /// The terminal's colour, by its number.
    colour: Option<u8>,
}

impl Style {
    fn set(&mut self, codes: &str) {
        for code in codes.split(';') {
            match code.parse() {
                Ok(1) => self.bold = true,
                Ok(2) => self.dim = true,
                Ok(4) => self.underlined = true,
                Ok(code @ 30..=37) => self.colour = Some(code - 30),
                Ok(0) | Err(_) => *self = Style::default(),
                Ok(other) => panic!("{other} is not drawn"),
            }
        }
    }

    fn classes(&self) -> String {
        let colour = self.colour.map(|colour| format!("c{colour}"));
        let named = [(self.bold, "b"), (self.dim, "d"), (self.underlined, "u")];
        let named = named.into_iter().filter(|(is, _)| *is).map(|(_, name)| name.to_owned());
        named.chain(colour).collect::<Vec<_>>().join(" ")
    }
}

/// Lines as runs of one style each.
fn runs(printed: &str) -> Vec<Vec<(Style, String)>> {
    let mut style = Style::default();
    let line = |line: &str| {
        let mut runs: Vec<(Style, String)> = Vec::new();
        let mut parts = line.split("\u{1b}[");
        runs.push((style.clone(), parts.next().unwrap_or_default().to_owned()));
        for part in parts {
            let (codes, text) = part.split_once('m').unwrap();
            style.set(codes);
            runs.push((style.clone(), text.to_owned()));
        }
        runs.retain(|(_, text)| !text.is_empty());
        runs
    };
    printed.lines().map(line).collect()
}

fn drawn(command: &str, printed: &str) -> String {
    let lines = runs(printed);
    let prompt = vec![(Style { dim: true, ..Style::default() }, format!("$ {command}"))];
    let lines: Vec<_> = [prompt, Vec::new()].into_iter().chain(lines).collect();
    let columns =
        lines.iter().map(|line| line.iter().map(|(_, text)| text.chars().count()).sum::<usize>()).max().unwrap();
    let (width, height) = (columns as f64 * WIDE + 2.0 * EDGE, lines.len() as f64 * HIGH + 2.0 * EDGE);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" role=\"img\" \
         aria-label=\"{}\">\n<style>\n\
         svg {{ --paper: #fcfcfc; --ink: #1c1c1c; --level: #9b1c31; --rest: #4a4a4a }}\n\
         @media (prefers-color-scheme: dark) {{ svg {{ --paper: #1b1b1b; --ink: #ececec; --level: #ff9aa8; --rest: #b8b8b8 }} }}\n\
         rect {{ fill: var(--paper); stroke: var(--rest); stroke-opacity: .4 }}\n\
         text {{ font: 14px ui-monospace, Menlo, Consolas, \"DejaVu Sans Mono\", monospace; fill: var(--ink); white-space: pre }}\n\
         .b {{ font-weight: bold }} .d {{ fill-opacity: .6 }} .u {{ text-decoration: underline }}\n\
         .c1 {{ fill: var(--level); font-weight: bold }} .c6 {{ fill: var(--rest) }}\n</style>\n\
         <rect x=\"0.5\" y=\"0.5\" width=\"{:.0}\" height=\"{:.0}\" rx=\"6\"/>\n",
        escaped(command),
        width - 1.0,
        height - 1.0,
    );
    for (number, line) in lines.iter().enumerate() {
        let mut column = 0;
        for (style, text) in line {
            let count = text.chars().count();
            let shown = text.trim_start_matches(' ');
            let begins = count - shown.chars().count();
            if !shown.is_empty() {
                let (x, y) = (EDGE + (column + begins) as f64 * WIDE, EDGE + number as f64 * HIGH + 14.0);
                let length = (count - begins) as f64 * WIDE;
                let classes = style.classes();
                let classes = if classes.is_empty() { String::new() } else { format!(" class=\"{classes}\"") };
                // Whatever the font, a run is as long as its columns.
                writeln!(
                    svg,
                    "<text x=\"{x:.1}\" y=\"{y:.1}\" textLength=\"{length:.1}\" lengthAdjust=\"spacingAndGlyphs\"{classes}>{}</text>",
                    escaped(shown)
                )
                .unwrap();
            }
            column += count;
        }
    }
    svg + "</svg>\n"
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// `LEADSMAN_BLESS=1` draws it anew.
#[test]
fn the_readme_s_picture_is_what_is_printed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let args = ["check", "--select", "mix-below-minimum", "examples/flawed/wrong-cylinders.plan.kdl"];
    let ran = leadsman(root).args(args).args(["--color", "always"]).output().unwrap();
    assert_eq!(ran.status.code(), Some(1));
    let now = drawn(&format!("leadsman {}", args.join(" ")), &String::from_utf8(ran.stdout).unwrap());
    let path = root.join("examples/screen.svg");
    if std::env::var_os("LEADSMAN_BLESS").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(now == kept, "examples/screen.svg shows another screen: LEADSMAN_BLESS=1 cargo test picture draws it anew");
    assert!(std::fs::read_to_string(root.join("README.md")).unwrap().contains("(examples/screen.svg)"));
}
