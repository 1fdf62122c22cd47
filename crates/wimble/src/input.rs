//! A model to check: a name for messages, and its bytes.

use std::borrow::Cow;

/// A model as it was given.
#[derive(Debug, Clone)]
pub struct Input<'a> {
    /// What it is called in reports and messages; usually its path as given.
    pub path: String,
    /// The bytes of an `.ifc` or `.ifczip` file.
    pub bytes: Cow<'a, [u8]>,
}

impl<'a> Input<'a> {
    /// A model with its name.
    pub fn new(path: impl Into<String>, bytes: impl Into<Cow<'a, [u8]>>) -> Self {
        Self { path: path.into(), bytes: bytes.into() }
    }
}
