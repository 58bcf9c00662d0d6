//! Whatever the text: laid out it is the same but for white space, and laid out again it stays.
#![no_main]

use leadsman::format::changes;
use leadsman::source::applied;
use leadsman::syntax::{TokenKind, Tree};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let laid_out = |text: &str| applied(text, &changes(&Tree::parse(text)));
    let once = laid_out(text);
    assert_eq!(pieces(text), pieces(&once));
    assert_eq!(once, laid_out(&once));
    let faults = |text: &str| Tree::parse(text).errors().iter().map(|error| error.kind).collect::<Vec<_>>();
    assert_eq!(faults(text), faults(&once));
    assert_eq!(nodes(text), nodes(&once));
});

/// How deep each node lies, and what it has.
fn nodes(text: &str) -> Vec<(u32, String, usize)> {
    let tree = Tree::parse(text);
    tree.nodes().map(|node| (tree.depth(node), tree.name(node).text.into_owned(), tree.entries(node).count())).collect()
}

/// What is no white space, in order.
fn pieces(text: &str) -> Vec<(TokenKind, String)> {
    let tree = Tree::parse(text);
    let stays = |kind: TokenKind| !matches!(kind, TokenKind::Space | TokenKind::Newline);
    tree.tokens().filter(|(kind, _)| stays(*kind)).map(|(kind, span)| (kind, text[span.range()].to_owned())).collect()
}
