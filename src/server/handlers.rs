//! The protocol's methods, each forwarded to the owner.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::sync::oneshot;
use tower_lsp::LanguageServer;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::ls_types::{
    CodeActionParams, CodeActionResponse, CompletionParams, CompletionResponse, DidChangeTextDocumentParams,
    DidChangeWatchedFilesParams, DidChangeWorkspaceFoldersParams, DidCloseTextDocumentParams,
    DidOpenTextDocumentParams, DidSaveTextDocumentParams, DocumentDiagnosticParams, DocumentDiagnosticReportResult,
    DocumentFormattingParams, DocumentOnTypeFormattingParams, DocumentRangeFormattingParams, Hover, HoverParams,
    InitializeParams, InitializeResult, InitializedParams, InlayHint, InlayHintParams, TextEdit, Uri,
    WorkspaceDiagnosticParams, WorkspaceDiagnosticReport, WorkspaceDiagnosticReportResult, WorkspaceFolder,
};

use super::abilities::Abilities;
use super::documents::Snapshot;
use super::feature::{actions, completion, diagnostics, formatting, hover, inlay, workspace};
use super::finder::Pulled;
use super::gate::defect;
use super::main_loop::{MainLoop, Message};
use super::outbox::Outbox;
use super::place;

/// How long after a change all files are looked at again.
const QUIET: Duration = Duration::from_millis(500);

/// Called on a worker's thread with a request's method before its answer is worked out.
pub(super) type Before = Arc<dyn Fn(&str) + Send + Sync>;

/// The protocol's server.
pub(super) struct Handlers {
    /// The way to the owner.
    pub main_loop: MainLoop,
    /// What is said to the client of our own accord.
    pub outbox: Outbox,
    /// What the client was given when it asked.
    pub pulled: Pulled,
    /// What happens before an answer is worked out.
    pub before: Option<Before>,
    /// Whether to ask the client to watch files, once it is ready.
    pub watches: Mutex<bool>,
}

impl Handlers {
    /// Works an answer out on a worker's thread from all that was said before.
    async fn answer<T: Send + 'static>(
        &self,
        method: &'static str,
        work: impl FnOnce(&Snapshot) -> T + Send + 'static,
    ) -> Result<T> {
        self.answer_while_wanted(method, |snapshot, _| work(snapshot)).await
    }

    /// The same for work that asks now and then whether anybody still wants it.
    async fn answer_while_wanted<T: Send + 'static>(
        &self,
        method: &'static str,
        work: impl FnOnce(&Snapshot, &dyn Fn() -> bool) -> T + Send + 'static,
    ) -> Result<T> {
        let (reply, answer) = oneshot::channel();
        let before = self.before.clone();
        self.main_loop.note(Message::Ask(Box::new(move |snapshot| {
            // Cancelled before its turn came.
            if reply.is_closed() {
                return;
            }
            let worked_out = catch_unwind(AssertUnwindSafe(|| {
                if let Some(before) = before {
                    before(method);
                }
                work(&snapshot, &|| !reply.is_closed())
            }));
            // Fails where the request was cancelled meanwhile.
            let _ = reply.send(worked_out.map_err(|panic| defect(&*panic)));
        })));
        answer.await.unwrap_or_else(|_| Err(Error::internal_error()))
    }
}

fn paths(folders: &[WorkspaceFolder]) -> Vec<PathBuf> {
    folders.iter().filter_map(|folder| place::path_of(&folder.uri)).collect()
}

impl LanguageServer for Handlers {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let abilities = Abilities::of(&params);
        *self.watches.lock().unwrap_or_else(PoisonError::into_inner) = abilities.watches;
        let answer = abilities.answer();
        self.main_loop.note(Message::Greeted(abilities));
        Ok(answer)
    }

    async fn initialized(&self, _: InitializedParams) {
        if *self.watches.lock().unwrap_or_else(PoisonError::into_inner) {
            self.outbox.watch();
        }
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        let (uri, version) = (document.uri, document.version);
        self.main_loop.note(Message::Opened { uri, language: document.language_id, version, text: document.text });
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        let (uri, version) = (params.text_document.uri, params.text_document.version);
        self.main_loop.note(Message::Changed { uri, version, changes: params.content_changes });
    }

    async fn did_save(&self, _: DidSaveTextDocumentParams) {
        self.main_loop.note(Message::Saved);
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        self.main_loop.note(Message::Closed(params.text_document.uri));
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        let paths = params.changes.iter().filter_map(|change| place::path_of(&change.uri));
        self.main_loop.note(Message::Touched(paths.collect()));
    }

    async fn did_change_workspace_folders(&self, params: DidChangeWorkspaceFoldersParams) {
        let (opened, closed) = (paths(&params.event.added), paths(&params.event.removed));
        self.main_loop.note(Message::Folders { opened, closed });
    }

    async fn diagnostic(&self, params: DocumentDiagnosticParams) -> Result<DocumentDiagnosticReportResult> {
        let pulled = self.pulled.clone();
        let work = move |snapshot: &Snapshot| {
            let uri = params.text_document.uri;
            let findings = snapshot.here(&uri).map(|here| diagnostics::of(&here)).unwrap_or_default();
            let (report, result) = diagnostics::report(findings, params.previous_result_id.as_deref());
            if snapshot.documents.contains_key(&uri) {
                pulled.given(uri, result);
            }
            DocumentDiagnosticReportResult::Report(report)
        };
        self.answer("textDocument/diagnostic", work).await
    }

    async fn workspace_diagnostic(&self, params: WorkspaceDiagnosticParams) -> Result<WorkspaceDiagnosticReportResult> {
        let known = params.previous_result_ids.into_iter().map(|known| (known.uri, known.value));
        let known: Arc<BTreeMap<Uri, String>> = Arc::new(known.collect());
        let mut changes = self.main_loop.changes();
        loop {
            changes.mark_unchanged();
            let known = known.clone();
            let work = move |snapshot: &Snapshot, wanted: &dyn Fn() -> bool| workspace::of(snapshot, &known, wanted);
            if let Some(items) = self.answer_while_wanted("workspace/diagnostic", work).await? {
                return Ok(WorkspaceDiagnosticReportResult::Report(WorkspaceDiagnosticReport { items }));
            }
            // The client asks again as soon as it is answered: it is, when there is something to tell.
            if changes.changed().await.is_err() {
                return Err(Error::request_cancelled());
            }
            // All files are a lot of work, and whoever types goes on typing.
            tokio::time::sleep(QUIET).await;
        }
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        let work = move |snapshot: &Snapshot| hover::of(&snapshot.here(&at.text_document.uri)?, at.position);
        self.answer("textDocument/hover", work).await
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let at = params.text_document_position;
        let typed = params.context.and_then(|context| context.trigger_character);
        let work = move |snapshot: &Snapshot| {
            let items = completion::of(&snapshot.here(&at.text_document.uri)?, at.position, typed.as_deref());
            Some(CompletionResponse::Array(items))
        };
        self.answer("textDocument/completion", work).await
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let work = move |snapshot: &Snapshot| Some(formatting::of(&snapshot.here(&params.text_document.uri)?, None));
        self.answer("textDocument/formatting", work).await
    }

    async fn range_formatting(&self, params: DocumentRangeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let (uri, range) = (params.text_document.uri, params.range);
        let work = move |snapshot: &Snapshot| Some(formatting::of(&snapshot.here(&uri)?, Some(range)));
        self.answer("textDocument/rangeFormatting", work).await
    }

    async fn on_type_formatting(&self, params: DocumentOnTypeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let (at, typed) = (params.text_document_position, params.ch);
        let work = move |snapshot: &Snapshot| {
            Some(formatting::typed(&snapshot.here(&at.text_document.uri)?, at.position, &typed))
        };
        self.answer("textDocument/onTypeFormatting", work).await
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        let work = move |snapshot: &Snapshot| Some(inlay::of(&snapshot.here(&params.text_document.uri)?, params.range));
        self.answer("textDocument/inlayHint", work).await
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let work = move |snapshot: &Snapshot| {
            let here = snapshot.here(&params.text_document.uri)?;
            Some(actions::of(&here, params.range, &params.context))
        };
        self.answer("textDocument/codeAction", work).await
    }
}
