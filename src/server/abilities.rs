//! What the client says it can do, and what the server therefore does.

use std::path::PathBuf;

use serde_json::Value;
use tower_lsp::ls_types::{
    CodeActionKind, CodeActionOptions, CodeActionProviderCapability, CompletionOptions, DiagnosticOptions,
    DiagnosticServerCapabilities, DiagnosticTag, DocumentOnTypeFormattingOptions, HoverProviderCapability,
    InitializeParams, InitializeResult, OneOf, PositionEncodingKind, ServerCapabilities, ServerInfo,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions, Uri,
    WorkDoneProgressOptions, WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
};

use super::place;
use crate::source::Encoding;

/// What the client can do.
#[derive(Debug, Clone)]
#[allow(clippy::struct_excessive_bools)]
pub(super) struct Abilities {
    /// How positions count columns.
    pub encoding: Encoding,
    /// It asks for findings itself, and can be told to ask again.
    pub pulls: bool,
    /// It shows hints in the text, and can be told to ask for them again.
    pub refreshes_hints: bool,
    /// It can be asked to watch files.
    pub watches: bool,
    /// It shows places related to a finding.
    pub related: bool,
    /// It links findings to their rules' pages.
    pub links: bool,
    /// It greys out what is of no use.
    pub greys_out: bool,
    /// It fills in places in what is completed.
    pub snippets: bool,
    /// It takes edits that name the version they were made for.
    pub versioned_edits: bool,
    /// The folders it has open.
    pub folders: Vec<PathBuf>,
}

impl Default for Abilities {
    fn default() -> Abilities {
        Abilities {
            encoding: Encoding::Utf16,
            pulls: false,
            refreshes_hints: false,
            watches: false,
            related: false,
            links: false,
            greys_out: false,
            snippets: false,
            versioned_edits: false,
            folders: Vec::new(),
        }
    }
}

impl Abilities {
    /// What a client's greeting says.
    pub(super) fn of(greeting: &InitializeParams) -> Abilities {
        let capabilities = &greeting.capabilities;
        let document = capabilities.text_document.as_ref();
        let workspace = capabilities.workspace.as_ref();
        let pushed = document.and_then(|document| document.publish_diagnostics.as_ref());
        let refreshes = workspace
            .and_then(|workspace| workspace.diagnostics.as_ref())
            .is_some_and(|diagnostics| diagnostics.refresh_support == Some(true));
        let offered = capabilities.general.as_ref().and_then(|general| general.position_encodings.as_deref());
        Abilities {
            encoding: encoding(offered.unwrap_or_default()),
            pulls: refreshes && document.is_some_and(|document| document.diagnostic.is_some()),
            refreshes_hints: workspace
                .and_then(|workspace| workspace.inlay_hint.as_ref())
                .is_some_and(|hints| hints.refresh_support == Some(true)),
            watches: workspace
                .and_then(|workspace| workspace.did_change_watched_files.as_ref())
                .is_some_and(|watching| watching.dynamic_registration == Some(true)),
            related: pushed.is_some_and(|pushed| pushed.related_information == Some(true)),
            links: pushed.is_some_and(|pushed| pushed.code_description_support == Some(true)),
            greys_out: pushed
                .and_then(|pushed| pushed.tag_support.as_ref())
                .is_some_and(|tags| tags.value_set.contains(&DiagnosticTag::UNNECESSARY)),
            snippets: document
                .and_then(|document| document.completion.as_ref()?.completion_item.as_ref()?.snippet_support)
                .is_some_and(|known| known),
            versioned_edits: workspace
                .and_then(|workspace| workspace.workspace_edit.as_ref())
                .is_some_and(|edit| edit.document_changes == Some(true)),
            folders: folders(greeting),
        }
    }

    /// The server's answer to the greeting.
    pub(super) fn answer(&self) -> InitializeResult {
        let encoding = match self.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        };
        let pulled = DiagnosticServerCapabilities::Options(DiagnosticOptions {
            identifier: Some("leadsman".to_owned()),
            inter_file_dependencies: true,
            workspace_diagnostics: true,
            work_done_progress_options: WorkDoneProgressOptions::default(),
        });
        InitializeResult {
            capabilities: ServerCapabilities {
                position_encoding: Some(encoding),
                text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
                    open_close: Some(true),
                    change: Some(TextDocumentSyncKind::INCREMENTAL),
                    save: Some(TextDocumentSyncSaveOptions::Supported(true)),
                    ..TextDocumentSyncOptions::default()
                })),
                completion_provider: Some(CompletionOptions {
                    trigger_characters: Some(["=", "\"", " ", "("].map(str::to_owned).into()),
                    ..CompletionOptions::default()
                }),
                hover_provider: Some(HoverProviderCapability::Simple(true)),
                document_formatting_provider: Some(OneOf::Left(true)),
                document_range_formatting_provider: Some(OneOf::Left(true)),
                document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
                    first_trigger_character: "}".to_owned(),
                    more_trigger_character: Some(vec!["\n".to_owned()]),
                }),
                inlay_hint_provider: Some(OneOf::Left(true)),
                code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
                    code_action_kinds: Some(vec![
                        CodeActionKind::QUICKFIX,
                        CodeActionKind::REFACTOR_REWRITE,
                        CodeActionKind::SOURCE_FIX_ALL,
                    ]),
                    ..CodeActionOptions::default()
                })),
                diagnostic_provider: self.pulls.then_some(pulled),
                workspace: Some(WorkspaceServerCapabilities {
                    workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                        supported: Some(true),
                        change_notifications: Some(OneOf::Left(true)),
                    }),
                    file_operations: None,
                }),
                ..ServerCapabilities::default()
            },
            server_info: Some(ServerInfo {
                name: env!("CARGO_PKG_NAME").to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
            offset_encoding: None,
        }
    }
}

/// UTF-8 where it is offered, since that is what we count in; else the client's first choice; else what every client
/// must know.
fn encoding(offered: &[PositionEncodingKind]) -> Encoding {
    if offered.contains(&PositionEncodingKind::UTF8) {
        return Encoding::Utf8;
    }
    match offered.iter().find(|kind| [PositionEncodingKind::UTF16, PositionEncodingKind::UTF32].contains(kind)) {
        Some(kind) if *kind == PositionEncodingKind::UTF32 => Encoding::Utf32,
        _ => Encoding::Utf16,
    }
}

/// The open folders: as today's clients say them, or as older ones did.
fn folders(greeting: &InitializeParams) -> Vec<PathBuf> {
    if let Some(folders) = &greeting.workspace_folders {
        return folders.iter().filter_map(|folder| place::path_of(&folder.uri)).collect();
    }
    // The older forms are taken from the plain data, their fields being deprecated.
    let plain = serde_json::to_value(greeting).unwrap_or_default();
    let text = |name: &str| plain.get(name).and_then(Value::as_str);
    let uri = text("rootUri").and_then(|uri| uri.parse::<Uri>().ok());
    uri.and_then(|uri| place::path_of(&uri)).or_else(|| text("rootPath").map(PathBuf::from)).into_iter().collect()
}
