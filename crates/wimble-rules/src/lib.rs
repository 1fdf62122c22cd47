//! Rule packs as data: does a cut hold, what is the limit, where would it hold.

mod by_hand;
mod check;
mod expression;
mod interval;
mod judge;
mod pack;
mod subject;
mod windows;
mod words;

pub use by_hand::{BEARING_BY_HAND_MM, cut_by_hand, member_by_hand};
pub use check::HOLDS_MM;
pub use judge::{CutJudgement, Judgement, RuleSettings, SiteTolerance, Situation, check};
pub use windows::{Probe, windows, windows_for};
pub use pack::{Pack, PackError, PackSet, Source, Status, UnknownPack, pack_schema};

#[cfg(test)]
mod tests;
