//! Whatever the text: its tokens joined are the text, nothing panics, and time grows with length alone.

use leadsman::syntax::Tree;
use proptest::prelude::*;

/// Everything that a tree can be asked, asked.
fn ask_all(text: &str) -> Tree {
    let tree = Tree::parse(text);
    let joined: String = tree.tokens().map(|(_, span)| &text[span.range()]).collect();
    assert_eq!(joined, text, "tokens tile the text");
    for node in tree.nodes() {
        let span = tree.span(node);
        assert!(text.get(span.range()).is_some() && span.contains(tree.header_span(node)));
        assert!(tree.children(node).all(|child| tree.parent(child) == Some(node)));
        for entry in tree.entries(node) {
            assert_eq!(tree.node_of(entry.id), node);
            assert!(text.get(entry.span.range()).is_some() && entry.span.contains(entry.value_span), "{entry:?}");
        }
    }
    for error in tree.errors() {
        assert!(text.get(error.span.range()).is_some(), "{error:?}");
    }
    for at in (0..=text.len()).step_by(1 + text.len() / 64) {
        let _ = tree.at(at as u32);
    }
    tree
}

/// Pieces that make trouble together.
const PIECES: &[&str] = &[
    "node",
    " ",
    "\n",
    "\r\n",
    "{",
    "}",
    "(",
    ")",
    "\"",
    "\"\"\"",
    "#\"",
    "\"#",
    "##",
    "/-",
    "//",
    "/*",
    "*/",
    "\\",
    "=",
    ";",
    "12",
    "12L",
    "0x",
    "1_0",
    "2027-05-15",
    "09:40",
    "35,8",
    "#true",
    "#nul",
    "true",
    ".5",
    "-",
    "\u{feff}",
    "\u{85}",
    "é",
    "😀",
    "\u{202e}",
    "\0",
    "key=",
    "a=1",
    "\t",
    "    ",
    "\u{a0}",
    "[",
    "\\u{110000}",
    "\\n",
];

/// A text of some of them.
pub fn pieces() -> impl Strategy<Value = String> {
    let some = proptest::collection::vec(0..PIECES.len(), 0..60);
    some.prop_map(|pieces| pieces.into_iter().map(|piece| PIECES[piece]).collect())
}

proptest! {
    #![proptest_config(crate::seed::properties(1500))]

    #[test]
    fn any_text_gives_a_tree(text in any::<String>()) {
        ask_all(&text);
    }

    #[test]
    fn any_pieces_give_a_tree(text in pieces()) {
        ask_all(&text);
    }

    #[test]
    fn any_bytes_give_a_tree(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let text = leadsman::source::Text::from_bytes(&bytes);
        ask_all(text.as_str());
    }
}

#[test]
fn depth_and_length_have_no_end() {
    for deep in ["a{".repeat(100_000), "/-a{".repeat(100_000), "a /-{".repeat(100_000), "(".repeat(100_000)] {
        ask_all(&deep);
    }
    for long in ["\"", "\"\"\"", "/*", "#\"\"\"", "a\\", "a=", "}", "a;", " a{", "\n  a {"] {
        let mut text = long.repeat(300_000 / long.len());
        ask_all(&text);
        text.push('\n');
        ask_all(&text.replace(long, &format!("{long} x")));
    }
    ask_all(&format!("a {}", "b=1 ".repeat(1_250_000)));
}

/// The least of several times that reading a text takes: what the machine's other work adds is no part of it.
fn least_seconds(text: &str) -> f64 {
    let once = || {
        let start = std::time::Instant::now();
        std::hint::black_box(Tree::parse(text));
        start.elapsed().as_secs_f64()
    };
    (0..5).map(|_| once()).fold(f64::INFINITY, f64::min)
}

#[test]
fn time_grows_with_length_alone() {
    // Sixty-four times the text, were the time quadratic, would take 4,096 times as long. The bound lies far from both
    // that and 64, so that a busy machine decides nothing.
    for piece in [
        "\"",
        "\"\"\"\n",
        "/*\n",
        "#\"\"\"\n",
        "\\ /*\n",
        "a=",
        "}",
        "a;",
        " a{\n",
        "\n  a {",
        "/-a{",
        "(",
        "1 2{",
        "##\"",
        "a /-",
    ] {
        let text = piece.repeat(4_000 / piece.len());
        let ratio = least_seconds(&text.repeat(64)) / least_seconds(&text);
        assert!(ratio < 800.0, "{piece:?}: sixty-four times the text takes {ratio:.0} times as long");
    }
}
