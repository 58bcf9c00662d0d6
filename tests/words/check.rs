//! What the walker says of texts.
