//! Rule packs as data: does a cut hold, what is the limit, where would it hold.

mod by_hand;
mod check;
mod explain;
mod expression;
mod interval;
mod judge;
mod limits;
mod pack;
mod subject;
mod windows;
mod words;

pub use by_hand::{BEARING_BY_HAND_MM, cut_by_hand, member_by_hand};
pub use check::HOLDS_MM;
pub use explain::{Explanation, RulePage, rule_pages};
pub use judge::{CutJudgement, Judgement, RuleSettings, SiteTolerance, Situation, check};
pub use windows::{Probe, windows, windows_for};
pub use limits::{LimitRow, Limits, PipeFit, StandardPipe, limits, standard_pipes};
pub use pack::{Pack, PackError, PackSet, Source, Status, UnknownPack, pack_schema};

#[cfg(test)]
mod tests;
