//! ISO 10303-21 (STEP) files: a record index first, then one record at a time.
//!
//! [`StepFile::index`] goes over the bytes once and notes where each record stands, its name and
//! its keyword. Nothing is copied and nothing parsed: a file of 350 MB with five million records is
//! ready in a fraction of a second. [`StepFile::record`] then reads the few records somebody asks
//! for; their [`Value`]s are numbers or spans of the file, and a [`Text`] is decoded when read.
//!
//! ```
//! let file = wimble_step::StepFile::index(
//!     b"ISO-10303-21;HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;DATA;
//!       #1=IFCDIRECTION((1.,0.,0.));
//!       #2=IFCLABELLED('Tr\\X2\\00E4\\X0\\ger',#1,$,.BEAM.);
//!       ENDSEC;END-ISO-10303-21;",
//! )?;
//! assert_eq!(file.header().schemas, ["IFC4"]);
//! assert!(file.diagnostics().is_empty());
//!
//! let beam = file.record(file.rows_of("IFCLABELLED")[0]);
//! assert_eq!(beam.get(0).text().as_deref(), Some("Träger"));
//! assert_eq!(beam.get(3).enumeration(), Some("BEAM"));
//!
//! let axis = beam.get(1).reference().and_then(|name| file.find(name)).map(|row| file.record(row));
//! let axis = axis.ok_or("the reference leads nowhere")?;
//! assert_eq!(axis.list(0).numbers().collect::<Vec<_>>(), [1.0, 0.0, 0.0]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Damage is no reason to stop: each fault is a [`Diagnostic`] with its line that says what was
//! done, and what stands around it is read. The spellings of real exporters are accepted.
//! [`append`] and [`patch`] give the bytes of a file with instances added or records exchanged,
//! every other byte as it was.
//!
//! This crate knows nothing of IFC, opens no files, and does not check a file against its schema.

mod chunk;
mod column;
mod diagnostic;
mod escapes;
#[cfg(test)]
mod faults;
mod file;
mod grammar;
mod head;
mod header;
mod index;
mod keywords;
mod layout;
mod lines;
mod mended;
mod name_column;
mod names;
mod number;
mod plain;
mod plain_ends;
mod record;
mod recover;
mod scan;
mod sections;
mod text;
#[cfg(test)]
mod twin;
mod value;
mod write;

pub use diagnostic::{Diagnostic, DiagnosticKind, Severity};
pub use file::{NotStep, Row, StepFile};
pub use header::Header;
pub use record::Record;
pub use text::{Text, TextFault, encode_text};
pub use value::{List, Typed, Value, Values};
pub use write::{
    AppendError, InstanceError, NewInstance, NewValue, NotFinite, PatchError, append, format_real,
    patch,
};
