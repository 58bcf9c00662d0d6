//! Findings of every file in the open folders, for a client that asks for all of them.

use std::collections::{BTreeMap, BTreeSet};

use tower_lsp::ls_types::{
    FullDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, Uri, WorkspaceDocumentDiagnosticReport,
    WorkspaceFullDocumentDiagnosticReport, WorkspaceUnchangedDocumentDiagnosticReport,
};

use super::diagnostics;
use crate::server::documents::Snapshot;

/// What is known of every file, in path order, and of files that the client knows and that are gone. Nothing where all of
/// it is what the client knows, or where nobody wants it any more.
pub(crate) fn of(
    snapshot: &Snapshot,
    known: &BTreeMap<Uri, String>,
    wanted: &dyn Fn() -> bool,
) -> Option<Vec<WorkspaceDocumentDiagnosticReport>> {
    let mut items = Vec::new();
    let (mut news, mut met) = (false, BTreeSet::new());
    for here in snapshot.in_folders() {
        if !wanted() {
            return None;
        }
        let Some(uri) = snapshot.uri(&here.archive, &here.file) else { continue };
        let findings = diagnostics::of(&here);
        let result_id = diagnostics::result_id(&findings);
        let version = here.version(&uri).map(i64::from);
        met.insert(uri.clone());
        if known.get(&uri) == Some(&result_id) {
            let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
            items.push(WorkspaceDocumentDiagnosticReport::Unchanged(WorkspaceUnchangedDocumentDiagnosticReport {
                uri,
                version,
                unchanged_document_diagnostic_report,
            }));
        } else {
            // Of a file without findings, and never with any, there is nothing to tell.
            news |= !findings.is_empty() || known.contains_key(&uri);
            items.push(full(uri, version, Some(result_id), findings));
        }
    }
    for gone in known.keys().filter(|uri| !met.contains(*uri) && !snapshot.documents.contains_key(*uri)) {
        news = true;
        items.push(full(gone.clone(), None, None, Vec::new()));
    }
    news.then_some(items)
}

fn full(
    uri: Uri,
    version: Option<i64>,
    result_id: Option<String>,
    items: Vec<tower_lsp::ls_types::Diagnostic>,
) -> WorkspaceDocumentDiagnosticReport {
    let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id, items };
    WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
        uri,
        version,
        full_document_diagnostic_report,
    })
}
