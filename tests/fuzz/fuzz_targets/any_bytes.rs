//! Whatever the bytes: nothing panics, and the tokens joined are the text.
#![no_main]

use leadsman::source::Text;
use leadsman::syntax::Tree;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let text = Text::from_bytes(bytes);
    let text = text.as_str();
    let tree = Tree::parse(text);
    let joined: String = tree.tokens().map(|(_, span)| &text[span.range()]).collect();
    assert_eq!(joined, text);
    for node in tree.nodes() {
        assert!(tree.span(node).contains(tree.header_span(node)));
        for entry in tree.entries(node) {
            assert!(text.get(entry.span.range()).is_some());
        }
    }
    for at in 0..=text.len() {
        let _ = tree.at(at as u32);
    }
    let _ = tree.to_kdl();
});
