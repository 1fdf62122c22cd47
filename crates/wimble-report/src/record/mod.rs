//! A sign-off record: member by member what is cut, what is allowed, by which source, what comes
//! of it, who measured; what was not checked; lines to sign.
//!
//! [`html()`] is a page to print and keep, [`json()`] the same as data. Both are made from the same
//! rows, so that they say the same.

mod html;
mod json;
mod rows;

pub use html::html;
pub use json::json;
