//! The reader against the `kdl` crate's parser: equal documents, spans and formats included.

use kdl::{KdlDocument, KdlIdentifier, KdlNode};
use leadsman::syntax::Tree;

/// Official cases in which the crate's parser departs from the suite, or from its own text; the suite is right.
const DEPARTURES: &[(&str, &str)] = &[];

/// All that `PartialEq` leaves out or folds together: spans, and each float to the bit.
fn walk(document: &KdlDocument, out: &mut Vec<String>) {
    out.push(format!("document {:?}", document.span()));
    for node in document.nodes() {
        walk_node(node, out);
    }
}

fn walk_node(node: &KdlNode, out: &mut Vec<String>) {
    let identifier = |what: &str, identifier: &KdlIdentifier| format!("{what} {identifier:?}");
    out.push(format!("node {:?}", node.span()));
    out.extend(node.ty().map(|ty| identifier("type", ty)));
    out.push(identifier("name", node.name()));
    for entry in node.entries() {
        out.push(format!("entry {:?} {:?} {:?}", entry.span(), entry.value(), entry.format()));
        out.extend(entry.ty().map(|ty| identifier("type", ty)));
        out.extend(entry.name().map(|name| identifier("key", name)));
    }
    out.push(format!("{:?}", node.format()));
    if let Some(children) = node.children() {
        walk(children, out);
    }
}

/// What differs between what is read here and what the crate reads, if anything does.
pub fn difference(text: &str) -> Option<String> {
    let ours = match Tree::parse(text).to_kdl() {
        Ok(ours) => ours,
        Err(errors) => return Some(format!("only we say {errors:?}")),
    };
    let theirs = match KdlDocument::parse_v2(text) {
        Ok(theirs) => theirs,
        Err(error) => return Some(format!("only the crate says {error:?}")),
    };
    let (mut left, mut right) = (Vec::new(), Vec::new());
    walk(&ours, &mut left);
    walk(&theirs, &mut right);
    let first = left.iter().zip(&right).find(|(left, right)| left != right);
    if let Some((left, right)) = first {
        return Some(format!("ours   {left}\ntheirs {right}"));
    }
    (left.len() != right.len() || ours != theirs).then(|| format!("ours   {ours:#?}\ntheirs {theirs:#?}"))
}

#[test]
fn official_cases_read_as_the_crate_reads_them() {
    let mut wrong = Vec::new();
    for (name, text) in super::official::inputs() {
        let departs = DEPARTURES.iter().any(|(departs, _)| *departs == name);
        if name.ends_with("_fail") {
            continue;
        }
        match difference(&text) {
            Some(difference) if !departs => wrong.push(format!("{name}: {text:?}\n{difference}")),
            None if departs => wrong.push(format!("{name} departs no more")),
            _ => {}
        }
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}
