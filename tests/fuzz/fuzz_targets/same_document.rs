//! Where both read a text without fault, they read the same document.
#![no_main]

use kdl::KdlDocument;
use leadsman::syntax::Tree;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    // The crate's parser recurses into blocks and takes time that grows exponentially with nested `/-`, and its
    // comments recurse too.
    if text.len() > 4096 || text.matches('{').count() > 100 || text.matches("/-").count() > 4 || text.contains("/*") {
        return;
    }
    let (ours, theirs) = (Tree::parse(text), KdlDocument::parse_v2(text));
    if let (Ok(ours), Ok(theirs)) = (ours.to_kdl(), theirs) {
        assert_eq!(ours, theirs);
        assert_eq!(ours.span(), theirs.span());
    }
});
