//! Every rule of every shipped pack, asked alone: at the figure that the JSON of `limits` gives it
//! holds, a tenth of a millimetre beyond it does not, and it then says what its pack says it says.
//!
//! Alone, because in its pack a rule may never be the one that decides. What the rules of a pack
//! come to together is in `properties`.

use super::properties::members;
use super::service;
use crate::check::{Known, asked};
use crate::pack::{
    Along, Check, Condition, EdgeOf, Fact, Otherwise, Pack, Rule, Said, SizeOf, Test,
};
use crate::subject::{Mark, Subject, View};
use crate::{Judgement, PackSet, RuleSettings, Situation, check, cut_by_hand, limits};
use serde_json::Value;
use wimble_model::{
    Basis, Cut, CutKind, CutShape, DeckLoad, DeckLoadKind, Level, Member, MemberIx, MemberKind,
    Role, Section, Service, ServiceIx, ServiceKind, Span, TimberMake, Trade,
};

/// A tenth of a millimetre: beyond what is forgiven (0.05 mm), less than anyone saws.
const TENTH: f64 = 0.1;
/// Members that a rule is tried in.
const ENOUGH: usize = 5;

/// Members of every kind, with what packs ask of them: hangers, roles, webs, loads.
pub(super) fn everyone() -> Vec<Member> {
    let mut all = members();
    let rectangle = |kind: MemberKind, breadth_mm: f64, depth_mm: f64| {
        crate::member_by_hand(kind, Section::Rectangle { breadth_mm, depth_mm }, 3600.0)
    };
    let mut hung = rectangle(MemberKind::Joist, 47.0, 220.0);
    hung.bearings[1].basis = Basis::Hanger;
    all.push(hung);
    let mut across = rectangle(MemberKind::Joist, 47.0, 220.0);
    across.loads.push(load(DeckLoadKind::PartitionAcross, 1800.0, 1900.0));
    all.push(across);
    all.push(rectangle(MemberKind::Joist, 88.9, 184.15));
    all.push(rectangle(MemberKind::Plate, 140.0, 38.0));
    all.push(rectangle(MemberKind::Plate, 88.9, 38.1));
    for depth_mm in [90.0, 225.0] {
        all.push(rectangle(MemberKind::TrussPart, 45.0, depth_mm));
        all.push(rectangle(MemberKind::Blocking, 45.0, depth_mm));
    }
    let section =
        Section::IJoist { breadth_mm: 45.0, depth_mm: 240.0, flange_mm: 45.0, web_mm: 10.0 };
    let mut hung = crate::member_by_hand(MemberKind::Joist, section, 4200.0);
    hung.bearings[0].basis = Basis::Hanger;
    all.push(hung);
    for webs_known in [true, false] {
        let section =
            Section::OpenWeb { breadth_mm: 72.0, depth_mm: 254.0, chord_mm: 47.0, webs_known };
        all.push(crate::member_by_hand(MemberKind::Joist, section, 4200.0));
    }
    all
}

fn load(kind: DeckLoadKind, from_mm: f64, to_mm: f64) -> DeckLoad {
    DeckLoad { kind, name: "it".to_owned(), from_mm, to_mm }
}

/// One rule, in a pack of its own.
struct Alone {
    packs: PackSet,
    applies: Vec<Condition>,
    rule: Rule,
    id: String,
    /// What its conditions want of the cut.
    shape: CutShape,
    services: Vec<Service>,
}

impl Alone {
    fn of(pack: &Pack, rule: &Rule) -> Self {
        let mut rule = Rule { group: None, option: None, after: None, ..rule.clone() };
        rule.said = Said::of(pack, &rule);
        let one = Pack { rules: vec![rule.clone()], ..pack.clone() };
        let wanted = |fact: Fact| {
            rule.when.iter().find(|c| c.fact == fact).and_then(|c| match &c.test {
                Test::Words { is, .. } => is.first().copied(),
                _ => None,
            })
        };
        let trades = crate::pack::ALL_TRADES.iter();
        let trade = wanted(Fact::Trade)
            .and_then(|word| trades.copied().find(|t| crate::pack::trade_word(*t) == word));
        let kinds = crate::pack::ALL_SERVICES.iter();
        let kind = wanted(Fact::Service).and_then(|word| kinds.copied().find(|k| k.word() == word));
        let services = if trade.is_some() || kind.is_some() {
            vec![Service {
                kind: kind.unwrap_or(ServiceKind::Pipe),
                ..service(trade.unwrap_or(Trade::Electric))
            }]
        } else {
            Vec::new()
        };
        Self {
            id: format!("{}/{}", pack.id(), rule.id),
            shape: match wanted(Fact::Shape) {
                Some("rectangular") => CutShape::Rectangular,
                _ => CutShape::Round,
            },
            packs: PackSet::of_one(one),
            applies: pack.applies.clone(),
            rule,
            services,
        }
    }

    /// Whether the rule speaks of such a cut, by the conditions of its pack and its own.
    fn speaks(&self, member: &Member, cut: &Cut) -> bool {
        let view = View::of(member);
        let mark = Mark::of(0, cut, &self.services);
        let subject = Subject::new(&view, mark, [].as_slice());
        let known = Known { domestic: true, assume_bearing: true };
        let basis = self.packs.in_force().next().unwrap().span_basis;
        let holds = |c: &Condition| asked(known, &subject, c, basis) == Ok(true);
        self.applies.iter().all(holds)
            && self.rule.when.iter().all(holds)
            && self.rule.cut.has(cut.kind)
    }

    /// A cut with these stretches along, across and up the member.
    fn cut(&self, member: &Member, kind: CutKind, x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Cut {
        let mut cut = cut_by_hand(MemberIx(0), member, kind, (x[0], x[1]), (z[0], z[1]));
        (cut.min_mm.y, cut.max_mm.y) = (y[0], y[1]);
        cut.shape = self.shape;
        cut.services = (0..self.services.len()).map(ServiceIx::from).collect();
        cut
    }

    /// A cut of a kind, as small as can be drawn or of a size (up the depth; across for a bore),
    /// its middle at `x`.
    fn sized(&self, member: &Member, kind: CutKind, x: f64, width: f64, size: f64) -> Cut {
        let (b, h) = (member.section.breadth_mm() / 2.0, member.section.depth_mm() / 2.0);
        let half = size / 2.0;
        let z = match kind {
            CutKind::TopNotch => [h - size, h],
            CutKind::BottomNotch | CutKind::Joinery => [-h, size - h],
            CutKind::Bore | CutKind::Severed => [-h, h],
            CutKind::SideCut => [-half, half],
            _ => [-half, half],
        };
        let y = match kind {
            CutKind::Bore | CutKind::Enclosed => [-half, half],
            CutKind::SideCut => [-b, size - b],
            _ => [-b, b],
        };
        self.cut(member, kind, [x - width / 2.0, x + width / 2.0], y, z)
    }

    fn judge(&self, member: &Member, cuts: &[Cut], settings: &RuleSettings) -> Judgement {
        let situation = Situation {
            members: std::slice::from_ref(member),
            services: &self.services,
            openings: &[],
            cuts,
        };
        check(&situation, &self.packs, settings)
    }

    /// What the rule says of the first cut: its verdict, or that it is a note; `None` if it holds.
    fn said(&self, member: &Member, cuts: &[Cut]) -> Option<&'static str> {
        self.said_with(member, cuts, &RuleSettings::default())
    }

    fn said_with(
        &self,
        member: &Member,
        cuts: &[Cut],
        settings: &RuleSettings,
    ) -> Option<&'static str> {
        let judged = self.judge(member, cuts, settings);
        // A remark about the member alone names no cut.
        let of_first = |f: &&wimble_model::Finding| {
            *f.rule == *self.id && (f.cuts.is_empty() || f.cuts.iter().any(|c| c.0 == 0))
        };
        let found = judged.findings.iter().find(of_first)?;
        if found.level == Level::Note {
            return Some("note");
        }
        assert_eq!(judged.cuts[0].verdict.max(found.verdict), judged.cuts[0].verdict);
        Some(found.verdict.word())
    }

    /// What it says when it is broken.
    fn otherwise(&self) -> &'static str {
        match self.rule.otherwise {
            Otherwise::Note => "note",
            other => other.verdict().word(),
        }
    }

    /// Holds at the limit, is broken beyond it.
    fn turns(&self, member: &Member, at: &[Cut], beyond: &[Cut]) -> usize {
        let told = || {
            let size = |c: &Cut| format!("{} {} {}", c.kind.word(), c.min_mm, c.max_mm);
            let of = |cuts: &[Cut]| cuts.iter().map(size).collect::<Vec<_>>().join(" | ");
            format!("{} in {:?}: {} then {}", self.id, member.section, of(at), of(beyond))
        };
        assert_eq!(self.said(member, at), None, "at its limit: {}", told());
        assert_eq!(self.said(member, beyond), Some(self.otherwise()), "beyond: {}", told());
        1
    }
}

fn number(value: &Value, key: &str) -> Option<f64> {
    value[key].as_f64()
}

fn kind_of(word: &str) -> CutKind {
    crate::pack::ALL_KINDS.into_iter().find(|kind| kind.word() == word).unwrap()
}

fn kinds_of(words: &Value) -> Vec<CutKind> {
    words.as_array().unwrap().iter().map(|word| kind_of(word.as_str().unwrap())).collect()
}

fn middle(member: &Member) -> f64 {
    let span = member.spans[0];
    f64::midpoint(span.from_mm, span.to_mm)
}

#[test]
fn every_rule_of_every_pack_turns_at_the_figure_that_limits_gives() {
    let everyone = everyone();
    let mut dumb = Vec::new();
    for pack in PackSet::built_in().known() {
        for rule in &pack.rules {
            let alone = Alone::of(pack, rule);
            let kinds: Vec<CutKind> = rule.cut.iter().collect();
            let of_rule = everyone.iter().filter(|member| {
                kinds.iter().any(|&kind| {
                    alone.speaks(member, &alone.sized(member, kind, middle(member), 8.0, 8.0))
                })
            });
            let mut turned = 0;
            let mut in_members = 0;
            for member in of_rule {
                let told = limits(member, &alone.packs, &RuleSettings::default());
                let json = serde_json::to_value(&told).unwrap();
                let more = tried(&alone, member, &json);
                turned += more;
                in_members += usize::from(more > 0);
                if in_members == ENOUGH {
                    break;
                }
            }
            if turned == 0 {
                dumb.push(alone.id);
            }
        }
    }
    assert_eq!(dumb, Vec::<String>::new(), "rules whose limit was never met");
}

/// How often the rule was seen to turn in this member.
fn tried(alone: &Alone, member: &Member, json: &Value) -> usize {
    let rows = json["rows"].as_array().unwrap();
    let mine = rows.iter().filter(|row| alone.rule.cut.has(kind_of(row["cut"].as_str().unwrap())));
    match &alone.rule.check {
        Check::Zone { .. } | Check::KeepOut(_) | Check::SupportDistance { .. } => {
            mine.map(|row| along(alone, member, row)).sum()
        }
        // What stands out is a property of the service, not of the cut: it has no row.
        Check::Size { of: SizeOf::Proud, .. } => {
            let mut cut = alone.sized(member, CutKind::Hole, middle(member), 20.0, 20.0);
            cut.besides.proud_mm = 1.0;
            let mut beyond = cut.clone();
            beyond.besides.proud_mm += TENTH;
            alone.turns(member, &[cut], &[beyond])
        }
        Check::Size { .. } | Check::Left { .. } | Check::Edge { .. } => {
            mine.map(|row| sized(alone, member, row)).sum()
        }
        Check::Level { .. } => mine.map(|row| level(alone, member, row)).sum(),
        Check::Apart { .. } => {
            json["spacing"].as_array().unwrap().iter().map(|row| apart(alone, member, row)).sum()
        }
        Check::BothEdges { .. } => {
            let rows = json["spacing"].as_array().unwrap();
            rows.iter().map(|row| both_edges(alone, member, row)).sum()
        }
        Check::Count { .. } => {
            json["counts"].as_array().unwrap().iter().map(|row| count(alone, member, row)).sum()
        }
        Check::Forbid { kinds } => {
            kinds.iter().map(|kind| usize::from(never(alone, member, rows, kind))).sum()
        }
        Check::Member(condition) => {
            let rows = json["scope"].as_array().unwrap();
            fact(alone, member, rows.first(), condition)
        }
        Check::Oblige { .. } => {
            json["duties"].as_array().unwrap().iter().map(|row| duty(alone, member, row)).sum()
        }
    }
}

/// Ends of the places where a cut, or its middle, may lie.
fn along(alone: &Alone, member: &Member, row: &Value) -> usize {
    let kind = kind_of(row["cut"].as_str().unwrap());
    let face = member.spans[0].from_mm;
    let to_middle = !row["centre_zones_mm"].is_null();
    let zones = if to_middle { &row["centre_zones_mm"] } else { &row["zones_mm"] };
    // A table gives the places of one size.
    let size = number(row, "greatest_mm").unwrap_or(8.0);
    let half = if to_middle { 0.0 } else { size / 2.0 };
    let ends = [-face, member.length_mm - face];
    let mut turned = 0;
    for zone in zones.as_array().unwrap() {
        let (from, to) = (zone[0].as_f64().unwrap(), zone[1].as_f64().unwrap());
        if to - from < 2.0 * half {
            continue;
        }
        for (end, inward) in [(from, 1.0), (to, -1.0)] {
            // Where the member ends no rule says anything.
            if ends.iter().any(|e| (e - end).abs() < 1e-6) {
                continue;
            }
            let at = face + end + inward * half;
            let cut = |x: f64| alone.sized(member, kind, x, size, size);
            let beyond = at - inward * TENTH;
            turned += alone.turns(member, &[cut(at)], &[cut(beyond)]);
        }
    }
    turned
}

/// The greatest size, length, or what is taken of the breadth.
fn sized(alone: &Alone, member: &Member, row: &Value) -> usize {
    let kind = kind_of(row["cut"].as_str().unwrap());
    let x = middle(member);
    let cut = |width: f64, size: f64| alone.sized(member, kind, x, width, size);
    if matches!(alone.rule.check, Check::Size { of: SizeOf::Width, .. }) {
        let Some(long) = number(row, "greatest_length_mm") else { return 0 };
        return alone.turns(member, &[cut(long, 8.0)], &[cut(long + TENTH, 8.0)]);
    }
    let breadth = matches!(alone.rule.check, Check::Left { along: Along::Breadth, .. });
    if breadth && !kind.is_across() {
        // From side to side nothing of the breadth is left: it holds only where nothing has to be.
        let holds = row["verdict"] == "pass";
        assert_eq!(alone.said(member, &[cut(8.0, 8.0)]).is_none(), holds, "{}", alone.id);
        return 0;
    }
    let Some(most) = number(row, "greatest_mm") else { return 0 };
    if most < 1.0 {
        let smallest = [cut(1.0, 1.0)];
        assert_eq!(alone.said(member, &smallest), Some(alone.otherwise()), "{}", alone.id);
        return 0;
    }
    let mut turned = alone.turns(member, &[cut(most, most)], &[cut(most + TENTH, most + TENTH)]);
    if let Check::Edge { of: EdgeOf::Nearest | EdgeOf::Flange, .. } = alone.rule.check {
        // A small one as near to an edge as the greatest in the middle.
        let small = most / 4.0;
        for way in [1.0, -1.0] {
            let lifted = |by: f64| {
                let mut cut = cut(small, small);
                cut.min_mm.z += way * by;
                cut.max_mm.z += way * by;
                cut
            };
            let by = (most - small) / 2.0;
            turned += alone.turns(member, &[lifted(by)], &[lifted(by + TENTH)]);
        }
    }
    turned
}

/// How far from mid-depth, and how far for an engineer.
fn level(alone: &Alone, member: &Member, row: &Value) -> usize {
    let kind = kind_of(row["cut"].as_str().unwrap());
    let band = number(row, "level_mm").unwrap();
    let size = 8.0;
    let lifted = |by: f64| {
        let mut cut = alone.sized(member, kind, middle(member), size, size);
        cut.min_mm.z += by;
        cut.max_mm.z += by;
        [cut]
    };
    for way in [1.0, -1.0] {
        assert_eq!(alone.said(member, &lifted(way * band)), None, "{}", alone.id);
        let beyond = alone.said(member, &lifted(way * (band + TENTH)));
        match number(row, "refer_within_mm") {
            None => assert_eq!(beyond, Some(alone.otherwise()), "{}", alone.id),
            Some(within) => {
                assert_eq!(beyond, Some("refer"), "{}", alone.id);
                let most = within - size / 2.0;
                assert_eq!(alone.said(member, &lifted(way * most)), Some("refer"), "{}", alone.id);
                let beyond = alone.said(member, &lifted(way * (most + TENTH)));
                assert_eq!(beyond, Some(alone.otherwise()), "{}", alone.id);
            }
        }
    }
    2
}

/// Two cuts as near as they may be, told from both sides.
fn apart(alone: &Alone, member: &Member, row: &Value) -> usize {
    let (least, times) =
        (number(row, "at_least_mm").unwrap(), number(row, "times_larger").unwrap());
    let measure = row["measure"].as_str().unwrap();
    let half = member.section.depth_mm() / 2.0;
    let mut turned = 0;
    for own in kinds_of(&row["cut"]) {
        let neighbours = match kinds_of(&row["beside"]) {
            same if same.is_empty() => vec![own],
            kinds => kinds,
        };
        for other in neighbours {
            for sizes in [[20.0, 30.0], [30.0, 20.0], [16.0, 16.0]] {
                let limit = least + times * f64::max(sizes[0], sizes[1]);
                let radii = (sizes[0] + sizes[1]) / 2.0;
                let notch =
                    |kind: CutKind| matches!(kind, CutKind::TopNotch | CutKind::BottomNotch);
                let off = if measure == "centres" { limit } else { limit + radii };
                let beside = |off: f64| {
                    let x = middle(member) - off / 2.0;
                    let mut first = alone.sized(member, own, x, sizes[0], sizes[0]);
                    let mut second = alone.sized(member, other, x + off, sizes[1], sizes[1]);
                    // At one level, so that the shortest way between them is along the member.
                    for (hole, beside) in [(&mut first, other), (&mut second, own)] {
                        if !notch(hole.kind) && notch(beside) {
                            let way = if beside == CutKind::TopNotch { 1.0 } else { -1.0 };
                            let by = way * (half - hole.max_mm.z);
                            hole.min_mm.z += by;
                            hole.max_mm.z += by;
                        }
                    }
                    [first, second]
                };
                let mirrored = |off: f64| {
                    let [first, second] = beside(off);
                    [second, first]
                };
                turned += alone.turns(member, &beside(off), &beside(off - TENTH));
                turned += alone.turns(member, &mirrored(off), &mirrored(off - TENTH));
            }
        }
    }
    turned
}

/// A top and a bottom notch.
fn both_edges(alone: &Alone, member: &Member, row: &Value) -> usize {
    let gap = number(row, "at_least_mm").unwrap();
    let pair = |from: f64, gap: f64| {
        let top = alone.sized(member, CutKind::TopNotch, from, 20.0, 10.0);
        [top, alone.sized(member, CutKind::BottomNotch, from + gap + 20.0, 20.0, 10.0)]
    };
    // On either side of the middle of the span.
    let from = middle(member) - (gap + 20.0) / 2.0;
    let turned = alone.turns(member, &pair(from, gap), &pair(from, gap - TENTH));
    let one_half = pair(member.spans[0].from_mm + 20.0, gap + 50.0);
    assert!(one_half[1].max_mm.x < middle(member), "{}", alone.id);
    assert_eq!(alone.said(member, &one_half), row["same_half"].as_str(), "{}", alone.id);
    turned
}

/// As many as there may be, and one more.
fn count(alone: &Alone, member: &Member, row: &Value) -> usize {
    let most = row["at_most"].as_u64().unwrap();
    let from = number(row, "from_mm").unwrap();
    let mut turned = 0;
    for kind in kinds_of(&row["of"]) {
        let many = |n: u64, size: f64| -> Vec<Cut> {
            let face = member.spans[0].from_mm;
            (0..n)
                .map(|at| alone.sized(member, kind, face + 200.0 * (at as f64 + 1.0), size, size))
                .collect()
        };
        let size = from.max(20.0);
        turned += alone.turns(member, &many(most, size), &many(most + 1, size));
        if from > 0.0 {
            turned += alone.turns(member, &many(most + 1, from - TENTH), &many(most + 1, from));
        }
    }
    turned
}

/// What is never made has no limit: the smallest of it is broken.
fn never(alone: &Alone, member: &Member, rows: &[Value], kind: CutKind) -> bool {
    let cut = alone.sized(member, kind, middle(member), 1.0, 1.0);
    if !alone.speaks(member, &cut) {
        return false;
    }
    assert_eq!(alone.said(member, &[cut]), Some(alone.otherwise()), "{}", alone.id);
    // And its rows say so, unless it depends on the cut or its services.
    let of_member = alone.rule.when.iter().all(|c| !c.fact.of_the_cut());
    if of_member && alone.rule.otherwise != Otherwise::Note {
        for row in rows.iter().filter(|row| row["cut"] == kind.word()) {
            assert_eq!(row["verdict"], alone.otherwise(), "{}: {row}", alone.id);
        }
    }
    true
}

/// The member's fact as the rule wants it, and not.
fn fact(alone: &Alone, member: &Member, row: Option<&Value>, condition: &Condition) -> usize {
    let kind = alone.rule.cut.iter().last().unwrap();
    let said = |member: &Member, change: &dyn Fn(&mut Cut), settings: &RuleSettings| {
        let mut cut = alone.sized(member, kind, middle(member), 8.0, 8.0);
        change(&mut cut);
        alone.said_with(member, &[cut], settings)
    };
    let broken = Some(alone.otherwise());
    let plain = RuleSettings::default();
    match &condition.test {
        Test::Lengths(_) | Test::Figures(_) => {
            let row = row.unwrap();
            let mut turned = 0;
            for (key, way) in [("at_least", -1.0), ("at_most", 1.0)] {
                let Some(limit) = number(row, key) else { continue };
                let with = |value: f64| {
                    let mut other = member.clone();
                    set_figure(&mut other, condition.fact, value);
                    other
                };
                let step = if condition.fact == Fact::Spans { 1.0 } else { TENTH };
                assert_eq!(said(&with(limit), &|_| {}, &plain), None, "{} {key}", alone.id);
                let beyond = said(&with(limit + way * step), &|_| {}, &plain);
                assert_eq!(beyond, broken, "{} {key}", alone.id);
                turned += 1;
            }
            turned
        }
        Test::YesNo(yes) => {
            for is in [*yes, !*yes] {
                let mut other = member.clone();
                if condition.fact == Fact::LoadBearing {
                    other.load_bearing = Some(is);
                }
                if let (Fact::WebsKnown, Section::OpenWeb { webs_known, .. }) =
                    (condition.fact, &mut other.section)
                {
                    *webs_known = is;
                }
                let size_known = condition.fact != Fact::SizeKnown || is;
                let said = said(&other, &|cut| cut.sizes_known = size_known, &plain);
                let wanted = if is == *yes { None } else { broken };
                assert_eq!(said, wanted, "{} {is}", alone.id);
            }
            1
        }
        Test::Words { is, not } => {
            let mut turned = 0;
            for (words, wanted) in [(is, None), (not, broken)] {
                for word in words {
                    let (mut other, mut settings) = (member.clone(), plain.clone());
                    set_word(&mut other, &mut settings, condition.fact, word);
                    assert_eq!(said(&other, &|_| {}, &settings), wanted, "{} {word}", alone.id);
                    turned += 1;
                }
            }
            let (mut other, mut settings) = (member.clone(), plain.clone());
            let (word, wanted) = if is.is_empty() { ("none", None) } else { ("other", broken) };
            set_word(&mut other, &mut settings, condition.fact, word);
            assert_eq!(said(&other, &|_| {}, &settings), wanted, "{} {word}", alone.id);
            turned
        }
    }
}

/// Makes a figure of the member what it is to be.
fn set_figure(member: &mut Member, fact: Fact, value: f64) {
    match fact {
        Fact::Depth => {
            let Section::Rectangle { breadth_mm, .. } = member.section else { panic!("{fact:?}") };
            member.section = Section::Rectangle { breadth_mm, depth_mm: value };
        }
        Fact::Overhang => {
            member.length_mm = member.bearings.last().unwrap().to_mm + value;
        }
        Fact::Spans => {
            let first = member.spans[0];
            while (member.spans.len() as f64) < value {
                let from_mm = member.spans.last().unwrap().to_mm + 100.0;
                member.spans.push(Span { from_mm, to_mm: from_mm + first.length_mm(), ..first });
            }
        }
        Fact::SpanToDepth => {
            let by = value * member.section.depth_mm() - member.spans[0].length_mm();
            member.spans[0].to_mm += by;
            member.length_mm += by;
            let last = member.bearings.last_mut().unwrap();
            last.from_mm += by;
            last.to_mm += by;
        }
        other => panic!("no rule asks for {other:?} yet"),
    }
}

/// Makes a word of the member what it is to be; `none` and `other` stand for any other word.
fn set_word(member: &mut Member, settings: &mut RuleSettings, fact: Fact, word: &str) {
    let roles = [Role::Ply, Role::Trimming, Role::Trimmer, Role::Trimmed];
    match fact {
        Fact::Role => member.role = roles.into_iter().find(|role| role.word() == word),
        Fact::Use => settings.domestic = Some(word == "domestic"),
        Fact::Make => {
            member.make = match word {
                "solid" => TimberMake::Solid,
                _ => TimberMake::NotStated,
            }
        }
        Fact::Load => {
            let kinds = [
                DeckLoadKind::PartitionAlong,
                DeckLoadKind::PartitionAcross,
                DeckLoadKind::Vessel,
                DeckLoadKind::Bath,
            ];
            let kind = kinds.into_iter().find(|kind| crate::pack::load_word(*kind) == word);
            member.loads = kind.into_iter().map(|kind| load(kind, 500.0, 600.0)).collect();
        }
        other => panic!("no rule asks for {other:?} yet"),
    }
}

/// As little wood as there may be without anything besides, and less.
fn duty(alone: &Alone, member: &Member, row: &Value) -> usize {
    let below = number(row, "below_mm").unwrap();
    let (b, h) = (member.section.breadth_mm(), member.section.depth_mm());
    let x = middle(member);
    let mut turned = 0;
    for kind in kinds_of(&row["cut"]) {
        let with = |left: f64| {
            let plain = alone.sized(member, kind, x, 8.0, 8.0);
            let (y, z) = ([plain.min_mm.y, plain.max_mm.y], [plain.min_mm.z, plain.max_mm.z]);
            let (y, z) = match row["of"].as_str().unwrap() {
                "cover" => (y, [h / 2.0 - left - 8.0, h / 2.0 - left]),
                "side-cover" => ([b / 2.0 - left - 8.0, b / 2.0 - left], z),
                "left-depth" => (y, [left - h / 2.0, h / 2.0]),
                _ => ([left - b / 2.0, b / 2.0], z),
            };
            [alone.cut(member, kind, [x - 4.0, x + 4.0], y, z)]
        };
        // Nearer to the other edge than to this one, it would be measured from there.
        let far = row["of"] == "cover" && below + 8.0 > h / 2.0
            || row["of"] == "side-cover" && below + 8.0 > b / 2.0;
        if far || !alone.speaks(member, &with(below)[0]) {
            continue;
        }
        let has = |left: f64| {
            let judged = alone.judge(member, &with(left), &RuleSettings::default());
            let rule = judged.cuts[0].obligations.iter().map(|o| o.kind);
            rule.map(|kind| serde_json::to_value(kind).unwrap()).collect::<Vec<_>>()
        };
        assert_eq!(has(below), Vec::<Value>::new(), "{} at {below}", alone.id);
        assert_eq!(has(below - TENTH), [row["obligation"].clone()], "{} below", alone.id);
        turned += 1;
    }
    turned
}
