//! Findings, as the client shows them.

use tower_lsp::ls_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag,
    DocumentDiagnosticReport, FullDocumentDiagnosticReport, NumberOrString, RelatedFullDocumentDiagnosticReport,
    RelatedUnchangedDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport,
};

use crate::findings::{ACCEPTED, Finding, Level};
use crate::server::documents::Here;
use crate::server::rule_pages::page_of;
use crate::source::Span;

/// Who says it, as clients print it beside a finding.
pub(crate) const SOURCE: &str = "leadsman";

/// All findings of a file.
pub(crate) fn of(here: &Here<'_>) -> Vec<Diagnostic> {
    here.archive.findings_at_hand(&here.file).iter().map(|finding| diagnostic(here, finding)).collect()
}

/// Where a finding is shown in this file: its own place, or the file's beginning if that lies in another.
pub(crate) fn shown_at(here: &Here<'_>, finding: &Finding) -> Span {
    if finding.place.file == here.file { finding.place.span } else { Span::at(0) }
}

/// One finding.
pub(crate) fn diagnostic(here: &Here<'_>, finding: &Finding) -> Diagnostic {
    let message = match &finding.waived {
        Some(waived) => format!("{} (waived: {})", finding.message, waived.because),
        None if finding.accepted => format!("{} (accepted in {ACCEPTED})", finding.message),
        None => finding.message.clone(),
    };
    let page = if here.abilities().links { page_of(&finding.rule) } else { None };
    Diagnostic {
        range: here.range(shown_at(here, finding)),
        severity: Some(severity(finding)),
        code: Some(NumberOrString::String(finding.rule.clone())),
        code_description: page.map(|href| CodeDescription { href }),
        source: Some(SOURCE.to_owned()),
        message,
        related_information: here.abilities().related.then(|| related(here, finding)),
        tags: (finding.unused && here.abilities().greys_out).then(|| vec![DiagnosticTag::UNNECESSARY]),
        // Some clients lose it on the way back, so nothing may depend on it.
        data: None,
    }
}

fn severity(finding: &Finding) -> DiagnosticSeverity {
    match finding.level {
        _ if !finding.counts() => DiagnosticSeverity::HINT,
        Level::Error => DiagnosticSeverity::ERROR,
        Level::Warning => DiagnosticSeverity::WARNING,
        Level::Note => DiagnosticSeverity::INFORMATION,
    }
}

fn related(here: &Here<'_>, finding: &Finding) -> Vec<DiagnosticRelatedInformation> {
    let own = (finding.place.file != here.file).then_some((&finding.place, "the cause"));
    let places = own.into_iter().chain(finding.related.iter().map(|related| (&related.place, &*related.message)));
    let known = places.filter_map(|(place, message)| {
        Some(DiagnosticRelatedInformation { location: here.location(place)?, message: message.to_owned() })
    });
    known.collect()
}

/// Names a set of findings, so that the client need not be sent what it has.
pub(crate) fn result_id(diagnostics: &[Diagnostic]) -> String {
    let plain = serde_json::to_vec(diagnostics).unwrap_or_default();
    blake3::hash(&plain).to_hex().to_string()
}

/// The findings as an answer to a client that asks, and their name.
pub(crate) fn report(diagnostics: Vec<Diagnostic>, previous: Option<&str>) -> (DocumentDiagnosticReport, String) {
    let result_id = result_id(&diagnostics);
    let report = if previous == Some(&result_id) {
        DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport { result_id: result_id.clone() },
        })
    } else {
        DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
            related_documents: None,
            full_document_diagnostic_report: FullDocumentDiagnosticReport {
                result_id: Some(result_id.clone()),
                items: diagnostics,
            },
        })
    };
    (report, result_id)
}
