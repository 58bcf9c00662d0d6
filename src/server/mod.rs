//! The editor's protocol.
