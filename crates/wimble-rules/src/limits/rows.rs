//! One row of the limits: a kind of cut, and one way for it to comply.

use crate::check::{Answer, Answered, Axis};
use crate::explain::kind_words;
use crate::interval::Intervals;
use crate::judge::{Judge, Selected};
use crate::pack::{Check, Otherwise, Pack, Rule, SizeOf, Value};
use crate::subject::{Subject, View};
use crate::windows::Probe;
use serde::Serialize;
use std::collections::BTreeSet;
use wimble_model::{CutKind, Member, Verdict};

/// One way for a kind of cut to comply.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitRow {
    /// Kind of cut, in the report's word.
    pub cut: &'static str,
    /// Whether such a cut is what a member of this section usually gets: a hole, a notch, a bore
    /// through a plate, a hole in a web. What else the rules speak of has a row too.
    pub usual: bool,
    /// The same for a person.
    pub name: String,
    /// The option of the pack that this row is, if it has options.
    pub option: Option<String>,
    /// The best that such a cut can come to.
    pub verdict: Verdict,
    /// Where the whole cut may lie: from and to, mm from the face of the left support (from the
    /// lower end of an upright member).
    pub zones_mm: Vec<[f64; 2]>,
    /// Where its middle may lie, where a rule measures to the middle.
    pub centre_zones_mm: Option<Vec<[f64; 2]>>,
    /// Greatest height of a hole or depth of a notch; across the breadth, of a bore, a cut in one
    /// side or a cavity. `None` if nothing limits it.
    pub greatest_mm: Option<f64>,
    /// Greatest length along the member.
    pub greatest_length_mm: Option<f64>,
    /// How far its centre may lie above or below mid-depth.
    pub level_mm: Option<f64>,
    /// Beyond that, an engineer decides while the whole of it lies within so much of mid-depth.
    pub refer_within_mm: Option<f64>,
    /// Rules that set these limits.
    pub rules: Vec<String>,
}

/// A place shorter than this is none: it is left over where bearings and ends meet.
const LEAST_MM: f64 = 0.001;

/// Sizes to ask about: those of a table, where a table rules; else one, since nothing depends on
/// it.
pub(super) fn sizes(selected: &Selected<'_>, member: &Member, kind: CutKind) -> Vec<f64> {
    let product = crate::subject::product(member);
    let mut sizes: Vec<f64> = Vec::new();
    for pack in &selected.packs {
        for rule in pack.rules.iter().filter(|rule| rule.cut.has(kind)) {
            if let Check::SupportDistance { value: Value::Table(at), .. } = &rule.check
                && let Some(table) = pack.tables.get(*at)
            {
                sizes.extend(table.sizes(&product, member.section.depth_mm()));
            }
        }
    }
    sizes.sort_by(f64::total_cmp);
    sizes.dedup();
    if sizes.is_empty() { vec![0.0] } else { sizes }
}

/// What the rules of one option say, gathered.
struct Gathered {
    verdict: Verdict,
    whole: Intervals,
    centre: Option<Intervals>,
    greatest: f64,
    length: f64,
    level: f64,
    refer_within: Option<f64>,
    rules: Vec<String>,
}

pub(super) fn of(
    judge: &Judge<'_>,
    view: &View<'_>,
    (kind, usual): (CutKind, bool),
    size: f64,
    outside: &mut BTreeSet<String>,
) -> Vec<LimitRow> {
    let member = view.member;
    let middle =
        member.spans.first().map_or(member.length_mm / 2.0, |s| f64::midpoint(s.from_mm, s.to_mm));
    let probe = Probe {
        kind,
        shape: wimble_model::CutShape::Round,
        width_mm: size,
        height_mm: size,
        offset_mm: 0.0,
        bit_mm: size,
    };
    let subject = Subject::new(view, probe.at(middle, member), [].as_slice());
    let mut rows = Vec::new();
    for choice in choices(judge, &subject) {
        let mut gathered = Gathered {
            verdict: Verdict::Pass,
            whole: Intervals::all(),
            centre: None,
            greatest: if size > 0.0 { size } else { f64::INFINITY },
            length: f64::INFINITY,
            level: f64::INFINITY,
            refer_within: None,
            rules: Vec::new(),
        };
        let mut heard = false;
        for pack in &judge.selected.packs {
            heard |= gather(judge, pack, &choice, &subject, &mut gathered, outside);
        }
        if !heard {
            gathered.verdict = gathered.verdict.max(Verdict::Refer);
        }
        let names: Vec<&str> = choice.iter().map(|(_, _, option)| *option).collect();
        let option = (!names.is_empty()).then(|| names.join(" + "));
        rows.push(LimitRow { usual, ..row(member, kind, option, gathered) });
    }
    rows
}

/// One option for each group that speaks: the pack's, the group's and the option's name.
type Choice<'p> = Vec<(&'p str, &'p str, &'p str)>;

/// Every way to choose one option of each group that speaks of the subject.
fn choices<'p>(judge: &Judge<'p>, subject: &Subject<'_>) -> Vec<Choice<'p>> {
    let mut groups: Vec<(&'p str, &'p str, Vec<&'p str>)> = Vec::new();
    for pack in &judge.selected.packs {
        for rule in &pack.rules {
            let (Some(group), Some(option)) = (&rule.group, &rule.option) else { continue };
            if matches!(judge.asks_anywhere(pack, rule, subject), Answer::Silent) {
                continue;
            }
            match groups.iter_mut().find(|(p, g, _)| *p == pack.id && *g == group) {
                Some((_, _, options)) if options.contains(&option.as_str()) => {}
                Some((_, _, options)) => options.push(option),
                None => groups.push((&pack.id, group, vec![option])),
            }
        }
    }
    let mut choices: Vec<Choice<'p>> = vec![Vec::new()];
    for (pack, group, options) in groups {
        choices = choices
            .into_iter()
            .flat_map(|choice| {
                options
                    .iter()
                    .map(move |&option| {
                        let mut next = choice.clone();
                        next.push((pack, group, option));
                        next
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
    }
    choices
}

fn gather<'p>(
    judge: &Judge<'p>,
    pack: &'p Pack,
    choice: &Choice<'_>,
    subject: &Subject<'_>,
    gathered: &mut Gathered,
    outside: &mut BTreeSet<String>,
) -> bool {
    let mut heard = pack.free.has(subject.mark.kind);
    let mut in_scope = true;
    for rule in pack.rules.iter().filter(|rule| rule.is_scope()) {
        let answer = judge.asks_anywhere(pack, rule, subject);
        let (held, verdict) = match &answer {
            Answer::Parts(parts) => {
                (parts.iter().all(|p| p.room.holds()), rule.otherwise.verdict())
            }
            Answer::Missing(_) => (false, Verdict::Unknown),
            Answer::Silent | Answer::Obliged { .. } => (true, Verdict::Pass),
        };
        if !held {
            in_scope = false;
            heard = true;
            gathered.verdict = gathered.verdict.max(verdict);
            gathered.rules.push(format!("{}/{}", pack.id, rule.said_as()));
            outside.insert(format!("{}/{}: {}", pack.id, rule.said_as(), rule.why));
        }
    }
    for rule in pack.rules.iter().filter(|r| !r.is_scope() && (in_scope || r.always)) {
        if let (Some(group), Some(option)) = (&rule.group, &rule.option)
            && !choice.contains(&(pack.id.as_str(), group.as_str(), option.as_str()))
        {
            continue;
        }
        if rule.otherwise == Otherwise::Note {
            continue;
        }
        match judge.asks_anywhere(pack, rule, subject) {
            Answer::Silent | Answer::Obliged { .. } => {}
            Answer::Missing(_) => {
                heard = true;
                gathered.verdict = gathered.verdict.max(Verdict::Unknown);
            }
            Answer::Parts(parts) => {
                heard |= !parts.is_empty() && crate::judge::speaks_for(rule);
                for part in &parts {
                    take(pack, rule, part, subject, gathered);
                }
            }
        }
    }
    heard
}

/// Takes one part of an answer into the row.
fn take(pack: &Pack, rule: &Rule, part: &Answered, subject: &Subject<'_>, row: &mut Gathered) {
    let top = part.allowed.iter().map(|(_, to)| to).fold(f64::NEG_INFINITY, f64::max);
    let mut name = true;
    let across = subject.mark.kind.is_across();
    match (&rule.check, part.axis) {
        // A bore, a cut in one side, a cavity: its size is what it takes of the breadth.
        (
            Check::Left { along: crate::pack::Along::Breadth, .. }
            | Check::Size { of: SizeOf::Across, .. }
            | Check::Edge { of: crate::pack::EdgeOf::Side, .. },
            Axis::Size,
        ) if across => row.greatest = row.greatest.min(top),
        (_, Axis::X) if part.hi > part.lo || subject.mark.width() == 0.0 => {
            let centre = matches!(
                rule.check,
                Check::Zone { part: crate::pack::Part::Centre, .. }
                    | Check::SupportDistance { part: crate::pack::Part::Centre, .. }
            );
            if centre {
                let before = row.centre.take().unwrap_or_else(Intervals::all);
                row.centre = Some(before.and(&part.allowed));
            } else {
                row.whole = row.whole.and(&part.allowed);
            }
        }
        (_, Axis::X) => {
            let before = row.centre.take().unwrap_or_else(Intervals::all);
            row.centre = Some(before.and(&part.allowed));
        }
        (Check::Size { of: SizeOf::Width, .. }, Axis::Size) => row.length = row.length.min(top),
        // Across the member such a cut goes right through: that holds or it does not.
        (Check::Size { of: SizeOf::Proud | SizeOf::Across, .. }, Axis::Size)
        | (Check::Left { along: crate::pack::Along::Breadth, .. }, Axis::Size)
        | (Check::Edge { of: crate::pack::EdgeOf::Side, .. }, _)
        | (_, Axis::Y | Axis::Fixed) => {
            name = !part.room.holds();
            if name {
                row.verdict = row.verdict.max(part.otherwise.verdict());
            }
        }
        (_, Axis::Size) => row.greatest = row.greatest.min(top),
        // The first band passes, the wider one is the engineer's.
        (Check::Level { .. }, Axis::Z) if top > row.level => {
            let within = top + 0.5 * subject.mark.height();
            row.refer_within = Some(row.refer_within.map_or(within, |least| least.min(within)));
        }
        (Check::Level { .. }, Axis::Z) => row.level = row.level.min(top),
        (_, Axis::Z) => {
            let bottom = part.allowed.iter().map(|(from, _)| from).fold(f64::INFINITY, f64::min);
            let half = subject.mark.depth / 2.0;
            row.greatest = match subject.mark.kind {
                CutKind::TopNotch => row.greatest.min(half - bottom),
                CutKind::BottomNotch => row.greatest.min(top + half),
                _ => row.greatest.min(2.0 * top.min(-bottom)),
            };
        }
    }
    // That nothing lies over a bearing is said of every cut, and sets no row apart.
    if name && !(rule.always && part.axis == Axis::X) {
        let id = format!("{}/{}", pack.id, rule.said_as());
        if !row.rules.contains(&id) {
            row.rules.push(id);
        }
    }
}

fn row(member: &Member, kind: CutKind, option: Option<String>, gathered: Gathered) -> LimitRow {
    // No limit at all is `None`; a band that is empty leaves nothing.
    let finite = |value: f64| (value < f64::INFINITY).then_some(value.max(0.0));
    let origin = member.spans.first().map_or(0.0, |s| s.from_mm);
    let reach = Intervals::one(0.0, member.length_mm);
    let zones = |allowed: &Intervals| -> Vec<[f64; 2]> {
        allowed
            .and(&reach)
            .iter()
            .filter(|(from, to)| to - from > LEAST_MM)
            .map(|(from, to)| [from - origin, to - origin])
            .collect()
    };
    let never = gathered.verdict == Verdict::Fail;
    let greatest = finite(gathered.greatest);
    // A limit of nothing: there is no such cut.
    let none = greatest == Some(0.0);
    LimitRow {
        cut: kind.word(),
        usual: true,
        name: kind_words(kind),
        option,
        verdict: if none { Verdict::Fail } else { gathered.verdict },
        zones_mm: if never || none { Vec::new() } else { zones(&gathered.whole) },
        centre_zones_mm: gathered.centre.as_ref().map(zones),
        greatest_mm: greatest,
        greatest_length_mm: finite(gathered.length),
        level_mm: finite(gathered.level),
        refer_within_mm: gathered.refer_within,
        rules: gathered.rules,
    }
}
