//! The rules as a specification: each row of the tables and each sentence of the practice that
//! speaks of a verdict.

mod alone;
mod always;
mod engineered;
mod joist_scope;
mod joist_table;
mod packs;
mod pages;
mod properties;

use crate::{Judgement, PackSet, RuleSettings, Situation, check, cut_by_hand, member_by_hand};
use wimble_model::{
    Cut, CutKind, Finding, Member, MemberIx, MemberKind, Section, Service, Verdict,
};

/// A member and its cuts, to be judged by the packs of the United Kingdom.
pub(crate) struct Trial {
    pub(crate) members: Vec<Member>,
    pub(crate) cuts: Vec<Cut>,
    pub(crate) services: Vec<Service>,
    pub(crate) settings: RuleSettings,
}

/// A 47 x 220 joist over a clear span of 3600, from x = 100 to x = 3700: notches 252 to 900 and
/// 360 to 720 from either face, holes 900 to 1440, depths 27.5 and 33, holes to 55, level 6.6.
pub(crate) fn joist() -> Trial {
    joist_of(47.0, 220.0, 3600.0)
}

pub(crate) fn joist_of(breadth_mm: f64, depth_mm: f64, span: f64) -> Trial {
    Trial::of(member_by_hand(MemberKind::Joist, Section::Rectangle { breadth_mm, depth_mm }, span))
}

/// A pipe that carries something.
pub(crate) fn service(trade: wimble_model::Trade) -> Service {
    Service {
        element: wimble_model::Element::default(),
        kind: wimble_model::ServiceKind::Pipe,
        trade,
        material: wimble_model::ServiceMaterial::NotStated,
        system: None,
        run: 0,
        storey: None,
        shape: wimble_model::ServiceShape::RoundMm(22.0),
        lagging: wimble_model::Lagging::None,
        notes: [].into(),
    }
}

impl Trial {
    pub(crate) fn of(member: Member) -> Self {
        Self {
            members: vec![member],
            cuts: Vec::new(),
            services: Vec::new(),
            settings: RuleSettings::default(),
        }
    }

    pub(crate) fn member(mut self, change: impl FnOnce(&mut Member)) -> Self {
        change(&mut self.members[0]);
        self
    }

    pub(crate) fn last(mut self, change: impl FnOnce(&mut Cut)) -> Self {
        change(self.cuts.last_mut().unwrap());
        self
    }

    /// Face of the left support.
    fn face(&self) -> f64 {
        self.members[0].spans.first().map_or(100.0, |s| s.from_mm)
    }

    pub(crate) fn cut(mut self, kind: CutKind, x: (f64, f64), z: (f64, f64)) -> Self {
        let face = self.face();
        let x = (face + x.0, face + x.1);
        self.cuts.push(cut_by_hand(MemberIx(0), &self.members[0], kind, x, z));
        self
    }

    /// A round hole: middle so far from the left face, level above mid-depth, diameter.
    pub(crate) fn hole(self, from_face: f64, level: f64, diameter: f64) -> Self {
        let half = diameter / 2.0;
        self.cut(CutKind::Hole, (from_face - half, from_face + half), (level - half, level + half))
    }

    /// A top notch from so far to so far from the left face, so deep.
    pub(crate) fn top_notch(self, from: f64, to: f64, depth: f64) -> Self {
        let half = self.members[0].section.depth_mm() / 2.0;
        self.cut(CutKind::TopNotch, (from, to), (half - depth, half))
    }

    pub(crate) fn bottom_notch(self, from: f64, to: f64, depth: f64) -> Self {
        let half = self.members[0].section.depth_mm() / 2.0;
        self.cut(CutKind::BottomNotch, (from, to), (-half, -half + depth))
    }

    pub(crate) fn judge_by(&self, packs: &PackSet) -> Judgement {
        let situation = Situation {
            members: &self.members,
            services: &self.services,
            openings: &[],
            cuts: &self.cuts,
        };
        check(&situation, packs, &self.settings)
    }

    pub(crate) fn judge(&self) -> Judgement {
        self.judge_by(&PackSet::built_in().region_set("GB").unwrap())
    }

    pub(crate) fn verdicts(&self) -> Vec<Verdict> {
        self.judge().cuts.iter().map(|cut| cut.verdict).collect()
    }

    /// The verdict of the only cut.
    pub(crate) fn verdict(&self) -> Verdict {
        let verdicts = self.verdicts();
        assert_eq!(verdicts.len(), 1);
        verdicts[0]
    }

    /// What is said, as `rule verdict`, notes included.
    pub(crate) fn said(&self) -> Vec<String> {
        self.judge()
            .findings
            .iter()
            .map(|f| {
                let word = match f.level {
                    wimble_model::Level::Note => "note",
                    _ => f.verdict.word(),
                };
                format!("{} {word}", f.rule)
            })
            .collect()
    }

    pub(crate) fn finding(&self, rule: &str) -> Finding {
        let judged = self.judge();
        let found = judged.findings.iter().find(|f| &*f.rule == rule).cloned();
        found.unwrap_or_else(|| panic!("{rule} not said: {:#?}", judged.findings))
    }
}
