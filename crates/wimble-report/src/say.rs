//! How things are said to a person: sizes, members, services, cuts and where they are.
//!
//! Every format for people uses these, so that a cut is called the same on paper and on screen.

use crate::Report;
use wimble_model::{
    Bound, Cut, CutKind, CutShape, Edge, Frame, Limit, Measured, Member, MemberKind, OpeningSource,
    Role, Section, Service, ServiceKind, ServiceShape, Span, Trade, Unit, Verdict,
};

/// Whole or tenth millimetres, without the unit: `47`, `13.5`.
pub(crate) fn mm(value: f64) -> String {
    let tenth = crate::number::round(value, 10.0);
    format!("{tenth}")
}

/// A name from a model, made harmless and short enough for one line.
pub(crate) fn plain(text: &str) -> String {
    const LONGEST: usize = 120;
    let clean = sentence(text);
    if clean.chars().count() <= LONGEST {
        return clean;
    }
    let mut short: String = clean.chars().take(LONGEST - 1).collect();
    short.push('…');
    short
}

/// Text that may hold names from a model, made harmless for a terminal and for one line: control
/// characters and those that turn the direction of writing would change what stands around them.
pub(crate) fn sentence(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let clean: String = text
        .chars()
        .map(|c| if c.is_whitespace() { ' ' } else { c })
        .map(|c| if c.is_control() || turns(c) { '\u{fffd}' } else { c })
        .collect();
    clean.trim().to_owned()
}

/// What a person calls a member: its name, else its GlobalId, else its row in the file.
pub(crate) fn member_name(member: &Member) -> String {
    element_name(&member.element)
}

pub(crate) fn element_name(element: &wimble_model::Element) -> String {
    let of_element = [element.name.as_deref().unwrap_or_default(), &element.guid]
        .into_iter()
        .map(plain)
        .find(|text| !text.is_empty())
        .unwrap_or_else(|| format!("#{}", element.instance));
    match element.item {
        Some(item) => format!("{of_element}, piece {}", item.saturating_add(1)),
        None => of_element,
    }
}

/// `joist 47 × 220, C24 softwood, clear span 3600`.
pub(crate) fn member_facts(member: &Member) -> String {
    let mut facts = vec![format!("{} {}", member_kind(member), section(member.section))];
    if let Some(material) = member.material.as_deref().map(plain).filter(|t| !t.is_empty()) {
        facts.push(material);
    }
    facts.push(spans(member));
    facts.join(", ")
}

/// The order of names as people count: J2 before J10.
pub(crate) fn natural(name: &str) -> Vec<(String, u64)> {
    let mut parts = Vec::new();
    let mut rest = name;
    while !rest.is_empty() {
        let text_end = rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len());
        let (text, tail) = rest.split_at(text_end);
        let digits_end = tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len());
        let (digits, tail) = tail.split_at(digits_end);
        parts.push((text.to_lowercase(), digits.parse().unwrap_or(0)));
        rest = tail;
    }
    parts
}

/// The kind with its role, as the trade says it.
pub(crate) fn member_kind(member: &Member) -> String {
    let kind = match member.kind {
        MemberKind::TrussPart => "part of a truss",
        MemberKind::Rim => "rim joist",
        MemberKind::Unknown => "timber of unknown use",
        kind => kind.word(),
    };
    match member.role {
        Some(Role::Ply) => format!("{kind} (one ply of {})", member.with.len() + 1),
        Some(Role::Trimming) => format!("trimming {kind}"),
        Some(Role::Trimmer) => "trimmer".into(),
        Some(Role::Trimmed) => format!("trimmed {kind}"),
        None => kind.into(),
    }
}

/// Breadth × depth, with what is special about the section.
pub(crate) fn section(section: Section) -> String {
    let size = format!("{} × {}", mm(section.breadth_mm()), mm(section.depth_mm()));
    match section {
        Section::Rectangle { .. } => size,
        Section::Round { diameter_mm } => format!("{} round", mm(diameter_mm)),
        Section::IJoist { .. } => format!("{size} I-section"),
        Section::OpenWeb { .. } => format!("{size} open web"),
        Section::Other { .. } => format!("{size} overall, shape not known to any rule"),
        Section::Unknown { .. } => format!("{size} overall, shape not read"),
    }
}

/// `clear span 3600`, `clear spans 3600 and 3000`, `span not known`.
pub(crate) fn spans(member: &Member) -> String {
    let lengths: Vec<String> = member.spans.iter().map(|span| mm(span.length_mm())).collect();
    match lengths.as_slice() {
        [] => "span not known".into(),
        [one] => format!("clear span {one}"),
        many if many.len() > 4 => format!("{} clear spans", many.len()),
        many => format!("clear spans {}", all_of(many)),
    }
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn all_of(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `waste pipe “Bath waste”, 43 mm`.
pub(crate) fn service(service: &Service) -> String {
    let kind = service_kind(service);
    let name = match service.element.name.as_deref().map(plain).filter(|text| !text.is_empty()) {
        Some(name) => format!("“{name}”"),
        None => element_name(&service.element),
    };
    match service.shape {
        ServiceShape::RoundMm(diameter) => format!("{kind} {name}, {} mm", mm(diameter)),
        ServiceShape::RectangleMm([a, b]) => format!("{kind} {name}, {} × {} mm", mm(a), mm(b)),
        ServiceShape::Mesh => format!("{kind} {name}"),
        ServiceShape::Unknown => format!("{kind} {name}, size not known"),
    }
}

/// `waste pipe`, `cable`, `conduit or tray`.
pub(crate) fn service_kind(service: &Service) -> String {
    let carries = match service.trade {
        Trade::Soil => "soil ",
        Trade::Waste => "waste ",
        Trade::Flue => "flue ",
        Trade::Gas => "gas ",
        Trade::Air => "air ",
        Trade::Heating => "heating ",
        Trade::Water => "water ",
        Trade::Chilled => "chilled ",
        Trade::Electric | Trade::Unknown => "",
    };
    match (service.kind, service.trade) {
        (ServiceKind::Duct, Trade::Air) => "duct".into(),
        (ServiceKind::Carrier, _) => "conduit or tray".into(),
        (ServiceKind::Fitting, Trade::Electric) => "cable fitting".into(),
        (ServiceKind::Fitting, _) => format!("{carries}fitting"),
        (ServiceKind::Terminal, _) => "appliance or outlet".into(),
        (ServiceKind::Other, _) => format!("{carries}service"),
        (kind, _) => format!("{carries}{}", kind.word()),
    }
}

/// What is removed, with its size: `hole 48 mm`, `notch 53 wide and 27 deep in the top`.
pub(crate) fn cut(cut: &Cut) -> String {
    let (width, height) = (mm(cut.width_mm()), mm(cut.height_mm()));
    let across = if width == height && cut.shape == CutShape::Round {
        format!("{width} mm")
    } else if cut.shape == CutShape::Rectangular {
        format!("{width} × {height} mm, square-cornered")
    } else {
        format!("{width} × {height} mm")
    };
    match cut.kind {
        CutKind::Hole if cut.shared > 1 => {
            format!("shared hole {across} (round: {} mm)", mm(cut.bit_mm))
        }
        CutKind::Hole => format!("hole {across}"),
        CutKind::WebHole => format!("hole {across} in the web"),
        CutKind::TopNotch => format!("notch {width} wide and {height} deep in the top"),
        CutKind::BottomNotch => format!("notch {width} wide and {height} deep in the underside"),
        CutKind::Severed => format!("cut right through, {width} along"),
        CutKind::EndCut => format!("cut at the end, {width} along and {height} deep"),
        CutKind::Lengthwise => format!("cut along the member, {width} long and {height} deep"),
        CutKind::Bore => format!("upright bore {} mm", mm(cut.bit_mm)),
        CutKind::SideCut => format!("cut into one side, {width} along and {height} deep"),
        CutKind::Enclosed => format!("service that ends inside the member, {width} along"),
        CutKind::FlangeCut => format!("cut in a flange, {width} along"),
        CutKind::ChordCut => format!("cut in a chord, {width} along"),
        CutKind::WebCut => format!("cut in a web, {width} along"),
        CutKind::BetweenWebs => "passes through a void of the member".into(),
        CutKind::Joinery => format!("joint, {width} along and {height} deep"),
    }
}

/// Where a cut is, from the face that a tape is hooked on: `1089 mm from the face of wall W-S`.
pub(crate) fn place(member: &Member, cut: &Cut) -> String {
    let along = match cut.span.and_then(|span| member.spans.get(span as usize)) {
        Some(span) => from_face(member, span, cut),
        None => from_end(member, cut),
    };
    match level(cut) {
        Some(level) => format!("{along}, {level}"),
        None => along,
    }
}

fn from_face(member: &Member, span: &Span, cut: &Cut) -> String {
    let (left, right) = (cut.min_mm.x - span.from_mm, span.to_mm - cut.max_mm.x);
    let (distance, bearing) =
        if left <= right { (left, span.from_bearing) } else { (right, span.to_bearing) };
    let name = bearing
        .and_then(|b| member.bearings.get(b as usize))
        .map(|b| plain(&b.name))
        .filter(|name| !name.is_empty())
        .unwrap_or_else(|| {
            let end = if left <= right {
                end_word(&member.frame, false)
            } else {
                end_word(&member.frame, true)
            };
            format!("the bearing at the {end}")
        });
    if distance < 0.0 {
        format!("over {name}, by {} mm", mm(-distance))
    } else {
        format!("{} mm from the face of {name}", mm(distance))
    }
}

fn from_end(member: &Member, cut: &Cut) -> String {
    let (left, right) = (cut.min_mm.x, member.length_mm - cut.max_mm.x);
    let (distance, end) = if left <= right {
        (left, end_word(&member.frame, false))
    } else {
        (right, end_word(&member.frame, true))
    };
    format!("{} mm from the {end}", mm(distance))
}

/// Level of a hole's centre; other cuts reach an edge, which says it.
fn level(cut: &Cut) -> Option<String> {
    if cut.edge != Edge::None || !matches!(cut.kind, CutKind::Hole | CutKind::WebHole) {
        return None;
    }
    let offset = crate::number::round(cut.offset_mm(), 10.0);
    Some(match offset {
        o if o > 0.0 => format!("{} mm above mid-depth", mm(o)),
        o if o < 0.0 => format!("{} mm below mid-depth", mm(-o)),
        _ => "at mid-depth".into(),
    })
}

/// A face by the side it looks to: `north face`.
pub(crate) fn side_word(outward: glam::DVec3) -> &'static str {
    match (outward.x.abs() > outward.y.abs(), outward.x > 0.0, outward.y > 0.0) {
        (true, true, _) => "east face",
        (true, false, _) => "west face",
        (false, _, true) => "north face",
        (false, _, false) => "south face",
    }
}

/// An end by the side it lies on, with +Y of the model as north: `south end`, `lower end`.
pub(crate) fn end_word(frame: &Frame, finish: bool) -> &'static str {
    let x = if finish { frame.x } else { -frame.x };
    if x.z.abs() > x.x.abs().max(x.y.abs()) {
        return if x.z > 0.0 { "upper end" } else { "lower end" };
    }
    match (x.x.abs() > x.y.abs(), x.x > 0.0, x.y > 0.0) {
        (true, true, _) => "east end",
        (true, false, _) => "west end",
        (false, _, true) => "north end",
        (false, _, false) => "south end",
    }
}

/// `Measured 0.18 of the span; at least 0.25 of the span is wanted.`
pub(crate) fn measured(measured: Option<Measured>, limit: Option<Limit>) -> Option<String> {
    let wanted = limit.and_then(|limit| {
        let figure = figure(safe(limit), limit.unit);
        Some(match limit.bound {
            Bound::AtLeast => format!("at least {figure} is wanted"),
            Bound::AtMost => format!("at most {figure} is allowed"),
            Bound::Within => format!("it must lie within {figure}"),
            Bound::None => return None,
        })
    });
    match (measured, wanted) {
        (Some(m), Some(wanted)) => Some(format!("Measured {}; {wanted}.", figure(m.value, m.unit))),
        (Some(m), None) => Some(format!("Measured {}.", figure(m.value, m.unit))),
        (None, Some(wanted)) => {
            let mut text = wanted;
            if let Some(first) = text.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            Some(format!("{text}."))
        }
        (None, None) => None,
    }
}

/// A limit printed to a tenth must not promise more than it gives: rounded to the safe side.
fn safe(limit: Limit) -> f64 {
    if limit.unit != Unit::Mm {
        return limit.value;
    }
    // The hair keeps 27.5 from becoming 27.4 by the error of its last binary digit.
    let tenths = limit.value * 10.0;
    match limit.bound {
        Bound::AtLeast => (tenths - 1e-6).ceil() / 10.0,
        Bound::AtMost | Bound::Within => (tenths + 1e-6).floor() / 10.0,
        Bound::None => limit.value,
    }
}

fn figure(value: f64, unit: Unit) -> String {
    let hundredth = crate::number::round(value, 1000.0);
    match unit {
        Unit::Mm => format!("{} mm", mm(value)),
        Unit::Span => format!("{hundredth} of the span"),
        Unit::Depth => format!("{hundredth} of the depth"),
        Unit::Count => format!("{hundredth}"),
        Unit::Degree => format!("{}°", mm(value)),
    }
}

/// The shape that goes with a verdict's word: solid square, cross, question mark in a ring, dashed
/// square.
pub(crate) const fn sign(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "■",
        Verdict::Fail => "✕",
        Verdict::Refer => "(?)",
        Verdict::Unknown => "⬚",
    }
}

/// With a capital at its head.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// `structure.ifc, line 77: …`.
pub(crate) fn warning(report: &Report, warning: &crate::Warning) -> String {
    let file = warning.input.and_then(|i| report.inputs.get(i as usize));
    let text = sentence(&warning.text);
    match (file.map(|f| plain(&f.path)), warning.line) {
        (Some(file), Some(line)) => format!("{file}, line {line}: {text}"),
        (Some(file), None) => format!("{file}: {text}"),
        (None, _) => text,
    }
}

/// What to do where no remedy is known.
pub(crate) const fn without_remedy(verdict: Verdict) -> Option<&'static str> {
    match verdict {
        Verdict::Fail => Some("move the service, make it smaller, or ask the engineer."),
        Verdict::Refer => Some("ask the engineer or the maker; this is not permission."),
        Verdict::Unknown => Some("give the missing fact and check again."),
        Verdict::Pass => None,
    }
}

/// The services of a cut in the trade's words; the void itself where nothing passes.
pub(crate) fn services(report: &Report, cut: &Cut) -> String {
    let names: Vec<String> =
        cut.services.iter().filter_map(|s| report.services.get(s.at())).map(service).collect();
    if !names.is_empty() {
        return all_of(&names);
    }
    let measured = cut
        .openings
        .iter()
        .filter_map(|opening| report.openings.get(opening.at()))
        .filter(|opening| opening.source == OpeningSource::Measured)
        .find_map(|opening| opening.element.name.as_deref());
    measured.map_or_else(|| "opening in the model".to_owned(), plain)
}

/// `Level 1`, or that it is on none.
pub(crate) fn storey(report: &Report, storey: Option<u32>) -> String {
    storey
        .and_then(|s| report.storeys.get(s as usize))
        .map(|s| plain(&s.name))
        .filter(|name| !name.is_empty())
        .unwrap_or_else(|| "On no storey".into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn sizes_print_whole_or_tenth_millimetres() {
        assert_eq!(mm(47.0), "47");
        assert_eq!(mm(13.26), "13.3");
        assert_eq!(mm(-0.01), "0");
    }

    #[test]
    fn control_characters_and_turned_writing_are_harmless() {
        assert_eq!(plain("a\u{1b}[31mb\r\nc"), "a\u{fffd}[31mb  c");
        assert_eq!(plain("x\u{202e}y"), "x\u{fffd}y");
        assert_eq!(plain(&"long".repeat(500)).chars().count(), 120);
        assert_eq!(sentence(&"long".repeat(500)).chars().count(), 2000);
    }

    #[test]
    fn a_member_says_kind_size_material_and_span() {
        let report = fixture::report();
        assert_eq!(member_name(&report.members[0]), "J1");
        assert_eq!(
            member_facts(&report.members[0]),
            "joist 47 × 220, C24 softwood, clear span 3600"
        );
    }

    #[test]
    fn names_are_ordered_as_people_count() {
        let mut names = ["JA-10", "JA-9", "ja-2", "JB-1", "JA-9a"];
        names.sort_by_key(|name| natural(name));
        assert_eq!(names, ["ja-2", "JA-9", "JA-9a", "JA-10", "JB-1"]);
    }

    #[test]
    fn a_cut_is_placed_from_the_nearer_face() {
        let report = fixture::report();
        let member = &report.members[0];
        assert_eq!(
            place(member, &report.cuts[0]),
            "1089 mm from the face of wall W-S, at mid-depth"
        );
        let mut moved = report.cuts[0].clone();
        moved.min_mm.x = 60.0;
        moved.max_mm.x = 108.0;
        assert_eq!(place(member, &moved), "over wall W-S, by 40 mm, at mid-depth");
        moved.span = None;
        assert_eq!(place(member, &moved), "60 mm from the west end, at mid-depth");
    }

    #[test]
    fn limits_are_rounded_to_the_safe_side() {
        let at =
            |value, bound| measured(None, Some(Limit { value, unit: Unit::Mm, bound })).unwrap();
        assert_eq!(at(27.5, Bound::AtMost), "At most 27.5 mm is allowed.");
        assert_eq!(at(27.58, Bound::AtMost), "At most 27.5 mm is allowed.");
        assert_eq!(at(133.42, Bound::AtLeast), "At least 133.5 mm is wanted.");
    }

    #[test]
    fn ratios_say_of_what() {
        let m = Measured { value: 0.1834, unit: Unit::Span };
        let l = Limit { value: 0.25, unit: Unit::Span, bound: Bound::AtLeast };
        assert_eq!(
            measured(Some(m), Some(l)).unwrap(),
            "Measured 0.183 of the span; at least 0.25 of the span is wanted."
        );
    }
}
