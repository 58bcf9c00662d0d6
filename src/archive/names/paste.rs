//! Lines that define what nothing defines yet, for a writer to paste and change.

use crate::plan::lower::ThingKind;
use crate::rules::usual;
use crate::syntax::quoted;

/// A line that defines a thing as it usually is, for a writer to change.
pub(super) fn to_paste(kind: ThingKind, name: &str) -> String {
    let inside = match kind {
        ThingKind::Unit => " kind=semi-closed { loop 5; feed constant=11; bed \"canister\"; }",
        ThingKind::Canister => " { packed on=\"2027-05-14\"; }",
        ThingKind::Cylinder => " size=12 working=232 { fill 200 on=\"2027-05-14\" o2=32 analysed=32; }",
        ThingKind::Diver => &format!(" {{ trained kind=open depth=30 on=\"2026-05-02\"; {}; }}", usual::gas()),
        ThingKind::Site => " water=fresh altitude=0 temperature=10 { depth 30; }",
        ThingKind::Routine => " { step \"mix\" \"Analysed, and the label signed\"; }",
        ThingKind::Course => " depth=18 deco=0",
    };
    format!("`{kind} {}{inside}`", quoted(name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::Tree;
    use crate::words::{FileKind, check};

    /// What is offered to be pasted reads, and says nothing that the language does not know.
    #[test]
    fn what_is_to_be_pasted_reads() {
        for kind in ThingKind::ALL {
            let line = to_paste(kind, "a \"name\"");
            let tree = Tree::parse(line.trim_matches('`'));
            assert!(tree.errors().is_empty(), "{line}");
            let slips = check(&tree, FileKind::Kit);
            assert!(slips.is_empty(), "{line}: {slips:?}");
        }
    }
}
