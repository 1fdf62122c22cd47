//! Why a check could not be made.

use wimble_ifc::{OpenError, ZipError};

/// Why a check could not be made; names the file and says what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CheckError {
    /// No model was given.
    #[error("no model was given; name at least one .ifc or .ifczip file")]
    NothingGiven,
    /// A file is not a model that can be read.
    #[error("{path}: {reason}")]
    Open {
        /// The file.
        path: String,
        /// Why.
        reason: OpenError,
    },
    /// An archive holds no model that can be read.
    #[error("{path}: {reason}")]
    Zip {
        /// The file.
        path: String,
        /// Why.
        reason: ZipError,
    },
    /// A mistake in a site sheet.
    #[error(transparent)]
    Sheet(Box<crate::Trouble>),
    /// A pack or region that nobody knows.
    #[error(transparent)]
    Packs(#[from] wimble_rules::UnknownPack),
}
