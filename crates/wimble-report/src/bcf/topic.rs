//! From findings to topics: grouped, named, told in the order in which a reader acts.

use super::{Group, Told};
use crate::{Names, Report, evidence_line, say};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;
use wimble_model::{Action, Cut, CutIx, Finding, Member, MemberIx, ServiceIx, Trade, Verdict};

/// The name space of our ids; random, and fixed for ever.
const SPACE: Uuid = Uuid::from_u128(0x5d1f_7e0a_93c4_4b6e_8a27_b0c6_41d9_2f35);
/// Lines about members and assumptions beyond these are counted.
const SHOWN: usize = 12;
/// A title is read in a narrow column.
const LONGEST_TITLE: usize = 180;

/// What is said in one topic.
#[derive(Debug, Clone)]
pub(crate) struct Topic {
    pub(crate) id: Uuid,
    /// From what the id is made; closes the description, by which a topic of ours is known again.
    pub(crate) key: String,
    pub(crate) title: String,
    pub(crate) description: String,
    pub(crate) verdict: Verdict,
    pub(crate) labels: Vec<String>,
    pub(crate) assigned: Option<String>,
    /// The member and the cut that are looked at.
    pub(crate) member: MemberIx,
    pub(crate) cut: Option<CutIx>,
    pub(crate) members: Vec<MemberIx>,
    pub(crate) cuts: Vec<CutIx>,
    pub(crate) services: Vec<ServiceIx>,
}

/// An id made of a key: the same key, the same id.
pub(crate) fn id(key: &str) -> Uuid {
    Uuid::new_v5(&SPACE, key.as_bytes())
}

/// Topics of all findings that are no notes and not waived, the worst first.
pub(crate) fn topics(report: &Report, names: &Names, told: &Told) -> Vec<Topic> {
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let runs = runs(report);
    for (at, finding) in report.findings.iter().enumerate() {
        if finding.verdict > Verdict::Pass && finding.waived.is_none() {
            let key = key(report, names, &runs, told.group, at, finding);
            groups.entry(key).or_default().push(at);
        }
    }
    let mut topics: Vec<Topic> =
        groups.into_iter().filter_map(|(key, at)| topic(report, told, key, &at)).collect();
    topics.sort_by(|a, b| (b.verdict, a.member, &a.key).cmp(&(a.verdict, b.member, &b.key)));
    topics
}

/// The least GlobalId of each run: outlives the numbering of runs.
fn runs(report: &Report) -> BTreeMap<u32, &str> {
    let mut runs: BTreeMap<u32, &str> = BTreeMap::new();
    for service in &report.services {
        let least = runs.entry(service.run).or_insert(&service.element.guid);
        *least = (*least).min(&service.element.guid);
    }
    runs
}

fn key(
    report: &Report,
    names: &Names,
    runs: &BTreeMap<u32, &str>,
    group: Group,
    at: usize,
    finding: &Finding,
) -> String {
    let project = report.inputs.iter().find_map(|input| input.project.as_deref()).unwrap_or("-");
    let member = report.members.get(finding.member.at());
    let storey = say::storey(report, member.and_then(|m| m.storey));
    let guid = member.map_or("", |m| m.element.guid.as_str());
    let rule = &finding.rule;
    match group {
        Group::Run => {
            let of_run = |ix: &ServiceIx| runs.get(&report.services.get(ix.at())?.run).copied();
            let run = finding.services.iter().filter_map(of_run).min().unwrap_or(guid);
            format!("{project} run {run} {storey} {rule}")
        }
        Group::Storey => format!("{project} storey {storey} {rule}"),
        Group::Rule => format!("{project} rule {rule}"),
        Group::Member => format!("{project} member {}", names.member(finding.member)),
        Group::Finding => {
            format!("{project} finding {}", names.fingerprint(at))
        }
    }
}

fn topic(report: &Report, told: &Told, key: String, at: &[usize]) -> Option<Topic> {
    let mut findings: Vec<&Finding> = at.iter().filter_map(|at| report.findings.get(*at)).collect();
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.verdict));
    let worst = *findings.first()?;
    let cut = worst.cuts.iter().max_by_key(|ix| {
        let verdict = report.cuts.get(ix.at()).map(|cut| cut.verdict);
        (verdict, std::cmp::Reverse(**ix))
    });
    let members: BTreeSet<MemberIx> = findings.iter().map(|f| f.member).collect();
    let cuts: BTreeSet<CutIx> = findings.iter().flat_map(|f| &f.cuts).copied().collect();
    let services: BTreeSet<ServiceIx> =
        findings.iter().flat_map(|f| &f.services).copied().collect();
    let trade = services.iter().find_map(|s| report.services.get(s.at())).map(|s| s.trade);
    let mut labels = vec![worst.verdict.word().to_owned()];
    labels.extend(trade.and_then(trade_word).map(str::to_owned));
    labels.extend(told.labels.iter().map(|label| say::plain(label)));
    let assigned =
        trade.and_then(|trade| told.assigned.get(&trade)).or(told.assigned_else.as_ref());
    let mut topic = Topic {
        id: id(&key),
        key,
        title: String::new(),
        description: String::new(),
        verdict: worst.verdict,
        labels,
        assigned: assigned.cloned(),
        member: worst.member,
        cut: cut.copied(),
        members: members.into_iter().collect(),
        cuts: cuts.into_iter().collect(),
        services: services.into_iter().collect(),
    };
    topic.title = title(report, &topic, worst);
    topic.description = description(report, &topic, &findings);
    Some(topic)
}

/// `A-04: hole 48 mm, waste pipe “Bath waste”, 1100 mm from the face of wall W-S, 11 mm above
/// mid-depth: measured 11 mm; at most 6.6 mm is allowed; and 4 more members`.
fn title(report: &Report, topic: &Topic, worst: &Finding) -> String {
    let member = report.members.get(topic.member.at());
    let name = member.map(say::member_name).unwrap_or_default();
    let what = match (member, topic.cut.and_then(|cut| report.cuts.get(cut.at()))) {
        (Some(member), Some(cut)) => cut_words(report, member, cut),
        _ => say::sentence(&worst.message),
    };
    let breaks = say::measured(worst.measured, worst.limit)
        .map(|text| format!(": {}", lower(text.trim_end_matches('.'))))
        .unwrap_or_default();
    let more = match topic.members.len().saturating_sub(1) {
        0 => String::new(),
        1 => "; and 1 more member".into(),
        n => format!("; and {n} more members"),
    };
    let head = short(&format!("{name}: {what}{breaks}"), LONGEST_TITLE - more.chars().count());
    format!("{head}{more}")
}

fn cut_words(report: &Report, member: &Member, cut: &Cut) -> String {
    format!("{}, {}, {}", say::cut(cut), say::services(report, cut), say::place(member, cut))
}

fn description(report: &Report, topic: &Topic, findings: &[&Finding]) -> String {
    let mut text = String::new();
    let mut part = |title: &str, lines: Vec<String>| {
        if lines.is_empty() {
            return;
        }
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&format!("{title}\n"));
        for line in lines.iter().take(SHOWN) {
            text.push_str(&format!("- {line}\n"));
        }
        if lines.len() > SHOWN {
            text.push_str(&format!("- and {} more\n", lines.len() - SHOWN));
        }
    };
    part("What to do, and who", once(findings.iter().flat_map(|f| next(f))));
    part("What is so", once(findings.iter().map(|f| said(f))));
    part("Members", topic.cuts.iter().filter_map(|ix| place(report, *ix)).collect());
    let sources = findings.iter().map(|f| format!("{}: {}", f.rule, say::sentence(&f.source)));
    part("Rules and sources", once(sources));
    part("Assumed", report.assumptions.iter().map(|text| say::sentence(text)).collect());
    text.push_str(&format!(
        "\n{} is not permission to cut. Geometry against published rules, not a structural \
         design.\nMade by {}.\nTopic {}",
        topic.verdict.word(),
        evidence_line(report),
        say::sentence(&topic.key)
    ));
    text
}

/// What would make it comply, with who acts.
fn next(finding: &Finding) -> Vec<String> {
    if finding.remedies.is_empty() {
        return vec![
            match finding.verdict {
                Verdict::Unknown => "Whoever models it: give the missing fact and check again.",
                Verdict::Refer => "Structural engineer or maker: decide.",
                _ => "Services designer: another way; or the engineer decides.",
            }
            .to_owned(),
        ];
    }
    let told = finding.remedies.iter().map(|remedy| {
        let who = match remedy.action {
            Action::DeeperMember { .. } | Action::TrimOut | Action::Refer => "Structural engineer",
            _ => "Services designer",
        };
        format!("{who}: {}", say::sentence(&remedy.text))
    });
    told.collect()
}

fn said(finding: &Finding) -> String {
    let measured = say::measured(finding.measured, finding.limit);
    let message = say::sentence(&finding.message);
    let tail = measured.map(|text| format!(" {text}")).unwrap_or_default();
    format!("{}: {message}{tail}", finding.verdict.word())
}

fn place(report: &Report, ix: CutIx) -> Option<String> {
    let cut = report.cuts.get(ix.at())?;
    let member = report.members.get(cut.member.at())?;
    let name = say::member_name(member);
    Some(format!("{name}: {} ({})", cut_words(report, member, cut), cut.verdict.word()))
}

/// What a trade is called in a label.
fn trade_word(trade: Trade) -> Option<&'static str> {
    Some(match trade {
        Trade::Soil => "soil",
        Trade::Waste => "waste",
        Trade::Flue => "flue",
        Trade::Gas => "gas",
        Trade::Air => "air",
        Trade::Heating => "heating",
        Trade::Water => "water",
        Trade::Chilled => "chilled",
        Trade::Electric => "electric",
        Trade::Unknown => return None,
    })
}

/// Each text once, in order.
fn once(texts: impl Iterator<Item = String>) -> Vec<String> {
    let mut seen = BTreeSet::new();
    texts.filter(|text| seen.insert(text.clone())).collect()
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_lowercase().chain(letters).collect())
}

fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}
