//! What limits a cut besides its own size and place: its neighbours, their number, what has to be
//! done with it, and for which members there are figures at all.

use crate::check::asked;
use crate::explain::rule_words;
use crate::expression::{Given, Length};
use crate::judge::Judge;
use crate::pack::{
    Check, Fact, KindSet, ObligeOf, Otherwise, Pack, Range, Rule, Spacing, Test, With,
};
use crate::subject::{Subject, View};
use crate::windows::Probe;
use serde::Serialize;
use wimble_model::{CutKind, CutShape, ObligationKind};

/// How far a cut has to stand from its neighbours, by one rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpacingRow {
    /// The rule (`pack/rule`).
    pub rule: String,
    /// Kinds of cut, in the report's words.
    pub cut: Vec<&'static str>,
    /// Kinds of their neighbours; empty: of the same kind.
    pub beside: Vec<&'static str>,
    /// `centres` (in the plane of length and depth), `gap-x` (edge to edge along the member) or
    /// `clear` (the shortest way).
    pub measure: &'static str,
    /// At least so much, …
    pub at_least_mm: f64,
    /// … and so many times the larger of the two diameters besides.
    pub times_larger: f64,
    /// What it means in the same half of a span, however far apart.
    pub same_half: Option<&'static str>,
    /// What it means when it does not hold: a verdict, or `note`.
    pub otherwise: &'static str,
    /// The rule in words.
    pub says: String,
}

/// How many cuts a span may have, by one rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CountRow {
    /// The rule.
    pub rule: String,
    /// Kinds of cut that count.
    pub of: Vec<&'static str>,
    /// Those smaller than this do not count.
    pub from_mm: f64,
    /// At most so many.
    pub at_most: u32,
    /// What more of them mean.
    pub otherwise: &'static str,
    /// The rule in words.
    pub says: String,
}

/// Something that has to be done besides, by one rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DutyRow {
    /// The rule.
    pub rule: String,
    /// Kinds of cut that it speaks of.
    pub cut: Vec<&'static str>,
    /// What is measured: `cover` (wood to the nearer of top and bottom), `side-cover`,
    /// `left-depth` or `left-breadth`.
    pub of: &'static str,
    /// Below this it has to be done.
    pub below_mm: f64,
    /// What.
    pub obligation: ObligationKind,
    /// For which services; empty: for any.
    pub when: String,
    /// The rule in words.
    pub says: String,
}

/// For which members a pack has figures, by one rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScopeRow {
    /// The rule.
    pub rule: String,
    /// Kinds of cut that it speaks of.
    pub cut: Vec<&'static str>,
    /// The fact of the member.
    pub fact: &'static str,
    /// Its least figure: mm for lengths, else a number.
    pub at_least: Option<f64>,
    /// Its greatest.
    pub at_most: Option<f64>,
    /// What it means for a member that is not so: a verdict, or `note`.
    pub otherwise: &'static str,
    /// The rule in words.
    pub says: String,
}

/// All of it.
pub(super) struct Besides {
    pub(super) spacing: Vec<SpacingRow>,
    pub(super) counts: Vec<CountRow>,
    pub(super) duties: Vec<DutyRow>,
    pub(super) scope: Vec<ScopeRow>,
}

/// What the packs that apply say of cuts of these kinds in a member.
pub(super) fn of(judge: &Judge<'_>, view: &View<'_>, kinds: &[CutKind]) -> Besides {
    let mut all =
        Besides { spacing: Vec::new(), counts: Vec::new(), duties: Vec::new(), scope: Vec::new() };
    for pack in &judge.selected.packs {
        for rule in &pack.rules {
            if let Some(one) = Speaking::of(judge, pack, rule, view, kinds) {
                one.into_rows(&mut all);
            }
        }
    }
    all
}

/// A rule that speaks of such a member, whatever the services.
struct Speaking<'a> {
    pack: &'a Pack,
    rule: &'a Rule,
    given: Given,
    kinds: &'a [CutKind],
}

impl<'a> Speaking<'a> {
    fn of(
        judge: &Judge<'_>,
        pack: &'a Pack,
        rule: &'a Rule,
        view: &View<'_>,
        kinds: &'a [CutKind],
    ) -> Option<Self> {
        let kind = kinds.iter().copied().find(|kind| rule.cut.has(*kind))?;
        let lifted = rule.lifted_by.as_ref().is_some_and(|switch| judge.allow.contains(switch));
        let middle = view
            .spans
            .first()
            .map_or(view.member.length_mm / 2.0, |s| f64::midpoint(s.from_mm, s.to_mm));
        let probe = Probe {
            kind,
            shape: CutShape::Round,
            width_mm: 0.0,
            height_mm: 0.0,
            offset_mm: 0.0,
            bit_mm: 0.0,
        };
        let subject = Subject::new(view, probe.at(middle, view.member), [].as_slice());
        let of_member = |c: &&crate::pack::Condition| !c.fact.of_the_cut();
        let speaks = rule
            .when
            .iter()
            .filter(of_member)
            .all(|c| asked(judge.known, &subject, c, pack.span_basis) == Ok(true));
        (speaks && !lifted).then(|| Self {
            pack,
            rule,
            given: subject.given(pack.span_basis),
            kinds,
        })
    }

    fn id(&self) -> String {
        format!("{}/{}", self.pack.id, self.rule.said_as())
    }

    fn says(&self) -> String {
        rule_words(self.pack, self.rule)
    }

    /// Those kinds of a set that can be made in the member.
    fn words(&self, set: KindSet) -> Vec<&'static str> {
        self.kinds.iter().filter(|kind| set.has(**kind)).map(|kind| kind.word()).collect()
    }

    fn mm(&self, length: Option<&Length>) -> Option<f64> {
        length.map_or(Some(0.0), |length| length.mm(&self.given))
    }

    fn into_rows(self, all: &mut Besides) {
        let otherwise = word(self.rule.otherwise);
        let cut = self.words(self.rule.cut);
        match &self.rule.check {
            Check::Apart { with, measure, at_least, times_larger } => {
                let Some(at_least_mm) = self.mm(at_least.as_ref()) else { return };
                let beside = match with {
                    With::Same => Vec::new(),
                    With::Kinds(kinds) => self.words(*kinds),
                };
                let measure = match measure {
                    Spacing::Centres => "centres",
                    Spacing::GapX => "gap-x",
                    Spacing::Clear => "clear",
                };
                all.spacing.push(SpacingRow {
                    rule: self.id(),
                    cut,
                    beside,
                    measure,
                    at_least_mm,
                    times_larger: *times_larger,
                    same_half: None,
                    otherwise,
                    says: self.says(),
                });
            }
            Check::BothEdges { gap, same_half } => {
                let Some(at_least_mm) = self.mm(gap.as_ref()) else { return };
                all.spacing.push(SpacingRow {
                    rule: self.id(),
                    cut: vec![CutKind::TopNotch.word()],
                    beside: vec![CutKind::BottomNotch.word()],
                    measure: "gap-x",
                    at_least_mm,
                    times_larger: 0.0,
                    same_half: same_half.map(word),
                    otherwise,
                    says: self.says(),
                });
            }
            Check::Count { kinds, ignore_under, at_most } => {
                let Some(from_mm) = self.mm(Some(ignore_under)) else { return };
                all.counts.push(CountRow {
                    rule: self.id(),
                    of: self.words(*kinds),
                    from_mm,
                    at_most: *at_most,
                    otherwise,
                    says: self.says(),
                });
            }
            Check::Oblige { of, at_least, obligation } => {
                let Some(below_mm) = self.mm(Some(at_least)) else { return };
                let services: Vec<crate::pack::Condition> =
                    self.rule.when.iter().filter(|c| c.fact.of_the_cut()).cloned().collect();
                all.duties.push(DutyRow {
                    rule: self.id(),
                    cut,
                    of: match of {
                        ObligeOf::Cover => "cover",
                        ObligeOf::SideCover => "side-cover",
                        ObligeOf::LeftDepth => "left-depth",
                        ObligeOf::LeftBreadth => "left-breadth",
                    },
                    below_mm,
                    obligation: *obligation,
                    when: crate::explain::condition_words(&services),
                    says: self.says(),
                });
            }
            Check::Member(condition) if condition.fact != Fact::SizeKnown => {
                let (at_least, at_most) = match &condition.test {
                    Test::Lengths(range) => self.bounds(range),
                    Test::Figures(range) => (range.at_least, range.at_most),
                    Test::Words { .. } | Test::YesNo(_) => (None, None),
                };
                all.scope.push(ScopeRow {
                    rule: self.id(),
                    cut,
                    fact: condition.fact.word(),
                    at_least,
                    at_most,
                    otherwise,
                    says: self.says(),
                });
            }
            _ => {}
        }
    }

    fn bounds(&self, range: &Range<Length>) -> (Option<f64>, Option<f64>) {
        let mm = |length: &Option<Length>| length.as_ref().and_then(|l| l.mm(&self.given));
        (mm(&range.at_least), mm(&range.at_most))
    }
}

/// What a broken rule means.
const fn word(otherwise: Otherwise) -> &'static str {
    match otherwise {
        Otherwise::Note => "note",
        other => other.verdict().word(),
    }
}
