//! What stands for a text.

/// Stands for a text, or for several: texts of one fingerprint are the same.
pub(in crate::archive) type Fingerprint = [u8; 32];
