//! Why a file or a part of it could not be read.

use wimble_step::{NotStep, Row};

/// Why a file could not be opened as an IFC model.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// A STEP file without a single instance that can be read.
    #[error("the file has a STEP header but no instances that can be read; export the model again")]
    NoInstances,
    /// An empty file, or another kind of file.
    #[error(transparent)]
    NotStep(#[from] NotStep),
    /// A zip where a plain file is wanted: see [`unzip`](crate::unzip).
    #[error("the file is a zip archive; unpack it first, or name it .ifczip")]
    Zip,
    /// The header names no schema.
    #[error("the file's header names no schema (FILE_SCHEMA); export it as IFC2X3, IFC4 or IFC4X3")]
    NoSchema,
    /// The header names a schema that is not one of IFC's.
    #[error("the file follows the schema {0}; export it as IFC2X3, IFC4 or IFC4X3")]
    UnknownSchema(String),
}

/// Why a placement or a shape could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct Unreadable {
    /// For a person, with the instance's class and name.
    pub reason: String,
    /// The instance that stood in the way.
    pub row: Row,
}

impl Unreadable {
    pub(crate) fn new(row: Row, reason: impl Into<String>) -> Self {
        Self { reason: reason.into(), row }
    }
}
