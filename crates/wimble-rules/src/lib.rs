//! Rule packs as data: does a cut hold, what is the limit, where would it hold.
//!
//! A pack is TOML (`packs/*.toml`; tables as CSV beside it). It says which members it applies to
//! and holds rules, each one check of a closed set with its source. [`PackSet`] knows the packs
//! that are shipped, reads a user's, and holds those in force. [`check()`] judges the cuts of a
//! building member by member and gives a [`Judgement`]: a verdict, a margin and obligations for
//! each cut, and findings in the words of the trade. Each check gives one answer: what it allows
//! on an axis, and where the cut lies on it. The verdict, [`windows()`] (where would it hold),
//! [`limits()`] (zones, greatest sizes, what pipes fit) and [`PackSet::explain`] all read that same
//! answer, so that they cannot disagree.
//!
//! ```
//! use wimble_model::{CutKind, MemberIx, MemberKind, Section, Verdict};
//! use wimble_rules::{
//!     PackSet, Probe, RuleSettings, Situation, check, cut_by_hand, member_by_hand, windows,
//! };
//!
//! let packs = PackSet::built_in().region_set("GB")?;
//! let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
//! let joist = member_by_hand(MemberKind::Joist, section, 3600.0);
//! // A 27 mm hole at mid-depth, its middle 1170 mm from the face of the left support.
//! let hole = cut_by_hand(MemberIx(0), &joist, CutKind::Hole, (1256.5, 1283.5), (-13.5, 13.5));
//! let situation = Situation { members: &[joist.clone()], services: &[], openings: &[], cuts: &[hole] };
//! let judged = check(&situation, &packs, &RuleSettings::default());
//! assert_eq!(judged.cuts[0].verdict, Verdict::Pass);
//! // It may stand anywhere between 0.25 and 0.40 of the span from either support (face at 100).
//! let places = windows(&joist, &Probe::hole(27.0, 0.0), &[], &packs, &RuleSettings::default());
//! assert_eq!(places, [(1013.5, 1526.5), (2273.5, 2786.5)]);
//! # Ok::<(), wimble_rules::UnknownPack>(())
//! ```
//!
//! Not here: reading files, geometry, what proved remedies there are, report formats, and
//! whether a joist is large enough for its span.

mod by_hand;
mod check;
mod explain;
mod expression;
mod interval;
mod judge;
mod limits;
mod one_member;
mod pack;
mod subject;
mod windows;
mod words;

pub use by_hand::{BEARING_BY_HAND_MM, cut_by_hand, member_by_hand};
pub use check::HOLDS_MM;
pub use explain::{Explanation, RulePage, rule_pages};
pub use expression::parse_length;
pub use judge::{
    CutJudgement, Judgement, RuleSettings, SiteTolerance, Situation, check, check_beside,
};
pub use limits::{
    CountRow, DutyRow, LimitRow, Limits, PipeFit, ScopeRow, SpacingRow, StandardPipe, limits,
    standard_pipes,
};
pub use one_member::{MemberRules, RulesByMember, Turning};
pub use pack::{Pack, PackError, PackSet, Source, Status, UnknownPack, pack_schema};
pub use windows::{Probe, windows, windows_for};

#[cfg(test)]
mod tests;
