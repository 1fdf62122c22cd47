//! Shared by the end-to-end tests: running the check on bytes, reading its JSON report by names,
//! and the real models beside the repository.

pub(crate) mod report;
pub(crate) mod shared;
