//! What the words in a model say, in fourteen languages.
//!
//! A text (a name, a material, a type) is split into words; each word or pair of words that the
//! vocabulary knows adds its [`Topic`]. The words themselves are data: `vocabulary.toml`.

mod lexicon;
mod said;
mod split;
mod topic;

pub(crate) use lexicon::topics;
pub(crate) use said::Said;
pub(crate) use topic::{Topic, Topics};
