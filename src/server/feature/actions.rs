//! Fixes of findings, as code actions.
//!
//! Findings are matched by range and rule: a finding's `data` does not come back from every client.

use std::collections::HashMap;

use tower_lsp::ls_types::{
    CodeAction, CodeActionContext, CodeActionKind, CodeActionOrCommand, CodeActionResponse, DocumentChanges,
    NumberOrString, OneOf, OptionalVersionedTextDocumentIdentifier, Range, TextDocumentEdit, TextEdit, Uri,
    WorkspaceEdit,
};

use super::{diagnostics, write_stops};
use crate::findings::{Finding, Fix, FixKind};
use crate::server::documents::Here;
use crate::source::{Edit, Span};

/// The actions for a range of a file.
pub(crate) fn of(here: &Here<'_>, range: Range, context: &CodeActionContext) -> CodeActionResponse {
    let findings = here.archive.findings(&here.file);
    let wants = |kind: &CodeActionKind| {
        let is = |wanted: &CodeActionKind| is_within(kind.as_str(), wanted.as_str());
        context.only.as_ref().is_none_or(|only| only.iter().any(is))
    };
    let mut actions = Vec::new();
    if wants(&CodeActionKind::QUICKFIX) {
        for finding in findings.iter().filter(|finding| is_meant(here, finding, range, context)) {
            actions.extend(finding.fixes.iter().filter_map(|fix| quick_fix(here, finding, fix)));
        }
    }
    if wants(&CodeActionKind::REFACTOR_REWRITE) {
        actions.extend(stops(here, range));
    }
    if wants(&CodeActionKind::SOURCE_FIX_ALL) {
        actions.extend(fix_all(here, &findings));
    }
    let mut said: Vec<CodeAction> = Vec::new();
    for action in actions {
        // Two findings mended by one and the same change are one action.
        match said.iter_mut().find(|other| other.title == action.title && other.edit == action.edit) {
            Some(other) => {
                let mended = action.diagnostics.into_iter().flatten();
                other.diagnostics.get_or_insert_default().extend(mended);
            }
            None => said.push(action),
        }
    }
    said.into_iter().map(CodeActionOrCommand::CodeAction).collect()
}

/// Whether a kind of action is what was asked for, or a kind of it.
fn is_within(kind: &str, wanted: &str) -> bool {
    kind.strip_prefix(wanted).is_some_and(|rest| wanted.is_empty() || rest.is_empty() || rest.starts_with('.'))
}

/// Clients ask with a line, a point, a word, or with the findings they mean.
fn is_meant(here: &Here<'_>, finding: &Finding, range: Range, context: &CodeActionContext) -> bool {
    let at = diagnostics::shown_at(here, finding);
    let shown = here.range(at);
    let is_named = context.diagnostics.iter().any(|diagnostic| {
        diagnostic.range == shown && diagnostic.code == Some(NumberOrString::String(finding.rule.clone()))
    });
    is_named || at.meets(here.span(range))
}

fn quick_fix(here: &Here<'_>, finding: &Finding, fix: &Fix) -> Option<CodeAction> {
    let edits: Vec<&Edit> = fix.edits.iter().collect();
    Some(CodeAction {
        title: sentence(&fix.title),
        kind: Some(CodeActionKind::QUICKFIX),
        diagnostics: Some(vec![diagnostics::diagnostic(here, finding)]),
        edit: Some(workspace_edit(here, &edits)?),
        is_preferred: (fix.kind == FixKind::Safe).then_some(true),
        ..CodeAction::default()
    })
}

/// Writing the worked-out stops of the way home at the range into the plan.
fn stops(here: &Here<'_>, range: Range) -> Option<CodeAction> {
    let edit = write_stops::edit(here, here.span(range))?;
    Some(CodeAction {
        title: "Write the worked-out stops into the plan".to_owned(),
        kind: Some(CodeActionKind::REFACTOR_REWRITE),
        edit: Some(workspace_edit(here, &[&edit])?),
        ..CodeAction::default()
    })
}

/// All safe fixes of a file as one action; nothing where there is none.
fn fix_all(here: &Here<'_>, findings: &[Finding]) -> Option<CodeAction> {
    let edits = safe_edits(here, findings);
    if edits.is_empty() {
        return None;
    }
    Some(CodeAction {
        title: "Apply all safe fixes".to_owned(),
        kind: Some(CodeActionKind::SOURCE_FIX_ALL),
        edit: Some(workspace_edit(here, &edits)?),
        ..CodeAction::default()
    })
}

/// The edits of every finding's safe fix that fit together: a fix that meets an earlier one waits for the next time.
fn safe_edits<'f>(here: &Here<'_>, findings: &'f [Finding]) -> Vec<&'f Edit> {
    let mut taken: Vec<&Edit> = Vec::new();
    let active = findings.iter().filter(|finding| finding.counts());
    let safe = active.filter_map(|finding| finding.fixes.iter().find(|fix| fix.kind == FixKind::Safe));
    for fix in safe.filter(|fix| fix.edits.iter().all(|edit| edit.place.file == here.file)) {
        let meets = |span: Span| taken.iter().any(|edit| edit.place.span.meets(span));
        if !fix.edits.iter().any(|edit| meets(edit.place.span)) {
            taken.extend(&fix.edits);
        }
    }
    taken.sort_by_key(|edit| edit.place.span);
    taken
}

fn workspace_edit(here: &Here<'_>, edits: &[&Edit]) -> Option<WorkspaceEdit> {
    let mut by_file: Vec<(Uri, Vec<TextEdit>)> = Vec::new();
    for edit in edits {
        let location = here.location(&edit.place)?;
        let edit = TextEdit { range: location.range, new_text: edit.text.clone() };
        match by_file.iter_mut().find(|(uri, _)| *uri == location.uri) {
            Some((_, edits)) => edits.push(edit),
            None => by_file.push((location.uri, vec![edit])),
        }
    }
    if !here.abilities().versioned_edits {
        return Some(WorkspaceEdit { changes: Some(HashMap::from_iter(by_file)), ..WorkspaceEdit::default() });
    }
    let versioned = by_file.into_iter().map(|(uri, edits)| TextDocumentEdit {
        text_document: OptionalVersionedTextDocumentIdentifier { version: here.version(&uri), uri },
        edits: edits.into_iter().map(OneOf::Left).collect(),
    });
    Some(WorkspaceEdit {
        document_changes: Some(DocumentChanges::Edits(versioned.collect())),
        ..WorkspaceEdit::default()
    })
}

/// A title with a capital at its start, as menus print them.
fn sentence(title: &str) -> String {
    let mut chars = title.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}
