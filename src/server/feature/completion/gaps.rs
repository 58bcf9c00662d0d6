//! What a plan still leaves open, offered where it would be written.

use tower_lsp::ls_types::CompletionItemKind;

use super::Offer;
use crate::plan::{ApparatusKind, Dive, Gap};
use crate::server::documents::Here;
use crate::syntax::{NodeId, Tree, Value, quoted};

/// What closes a gap of the plan below a node: of the plan itself, or of a dive.
pub(super) fn of(here: &Here<'_>, tree: &Tree, parent: Option<NodeId>, snippets: bool) -> Vec<Offer> {
    let (Some(parent), Some(plan)) = (parent, here.archive.plan(&here.file)) else { return Vec::new() };
    let name = tree.name(parent).text.to_string();
    let first = tree.entries(parent).find(|entry| entry.key.is_none()).map(|entry| entry.value);
    let called = |dive: &Dive| matches!(&first, Some(Value::Text(text)) if **text == *dive.name.value);
    let of_this = |gap: &&Gap<'_>| match gap.dive() {
        None => name == "plan",
        Some(dive) => name == "dive" && called(dive),
    };
    let gaps = plan.gaps();
    gaps.iter().filter(of_this).map(|gap| offer(here, gap, snippets)).collect()
}

fn offer(here: &Here<'_>, gap: &Gap<'_>, snippets: bool) -> Offer {
    let (word, text) = match gap {
        Gap::Site => ("site", "site \"$1\" water=${2|fresh,salt|} altitude=${3:0} temperature=${4:10}".to_owned()),
        Gap::Dives => ("dive", "dive \"$1\" {\n    descend $2\n    stay $3\n    ascend\n}".to_owned()),
        Gap::Legs(_) => ("descend", "descend $1\nstay $2 work=${3|light,moderate,heavy|}\nascend".to_owned()),
        Gap::Divers(_) => ("diver", format!("diver \"$1\" {}", breathing(here))),
        Gap::Cylinders(_, member) => {
            ("diver", format!("diver {} {}", quoted(&member.name.value).replace('$', "\\$"), breathing(here)))
        }
    };
    Offer {
        text: if snippets { text } else { word.to_owned() },
        snippet: snippets,
        detail: "still to be said".to_owned(),
        meaning: format!("{}.", gap.words()),
        ..Offer::new(word, CompletionItemKind::SNIPPET)
    }
}

/// What a diver takes: by the kinds of unit that there are in sight.
fn breathing(here: &Here<'_>) -> &'static str {
    let scope = here.archive.scope(&here.file);
    let has = |wanted: ApparatusKind| {
        scope.units.values().any(|unit| unit.thing.kind.as_ref().is_some_and(|kind| kind.value == wanted))
    };
    if has(ApparatusKind::SemiClosed) {
        "unit=\"$2\" supply=\"$3\" bailout=\"$4\" set-point=${5:26}"
    } else if has(ApparatusKind::Closed) {
        "unit=\"$2\" diluent=\"$3\" oxygen=\"$4\" bailout=\"$5\" set-point=${6:1.2}"
    } else if has(ApparatusKind::Passive) {
        "unit=\"$2\" supply=\"$3\" bailout=\"$4\""
    } else {
        "back=\"$2\""
    }
}
