//! Shared by the end-to-end tests: running the check on bytes, reading its JSON report by names,
//! the real models beside the repository, and a terminal's lines as a picture.

pub(crate) mod report;
pub(crate) mod shared;
pub(crate) mod terminal_picture;
