//! Writing: instances added to a file, or records exchanged in it, every other byte as it was.

mod append;
mod instance;
mod patch;
mod real;

pub use append::{AppendError, append};
pub use instance::{InstanceError, NewInstance, NewValue};
pub use patch::{PatchError, patch};
pub use real::{NotFinite, format_real};
