//! A sheet laid over the members of a model: what is really cut in them.

use crate::body::{self, Passage};
use crate::building::place;
use crate::cut::{Made, SheetCut, outside};
use crate::error::SheetError;
use crate::member::SheetMember;
use crate::sheet::Sheet;
use wimble_geom::Solid;
use wimble_model::{Element, Member, MemberIx, Opening, OpeningSource, Service};
use wimble_recognise::Scene;

/// Cuts that were measured in the members of a model.
#[derive(Debug, Clone, Default)]
pub struct MeasuredOn {
    /// Members that were measured, in the order of the model.
    pub members: Vec<MemberIx>,
    /// The cuts found in them, in the order of the sheet.
    pub laid: Vec<Laid>,
    /// Members whose measured section or span is not that of the model, in words.
    pub differ: Vec<(MemberIx, String)>,
}

/// A measured cut in a member of a model.
#[derive(Debug, Clone)]
pub struct Laid {
    /// The cut as an opening of the model's member.
    pub opening: Opening,
    /// What it takes, in the world.
    pub body: Solid,
    /// The service of which the sheet says that it passes.
    pub service: Option<Service>,
}

/// Measured sections and spans that differ by no more than this are the model's (our own), mm.
const SECTION_MM: f64 = 3.0;
const SPAN_MM: f64 = 20.0;

impl Sheet {
    /// Lays the sheet over a model's members, found by GlobalId, tag or name. `input` is the index
    /// that the sheet has among the inputs.
    ///
    /// # Errors
    /// A member that the model has not or has more than once, or a cut that is not measured.
    pub fn measured_on(&self, scene: &Scene, input: u32) -> Result<MeasuredOn, SheetError> {
        let mut all = MeasuredOn::default();
        for told in &self.members {
            let ix = find(told, &scene.members)?;
            let Some(member) = scene.members.get(ix.at()) else { continue };
            if all.members.contains(&ix) {
                let message = format!("{} is measured twice", told.name);
                return Err(SheetError::new(told.called.clone(), message, "put its cuts together"));
            }
            all.members.push(ix);
            if let Some(said) = told.facts.as_ref().and_then(|facts| differs(facts, member)) {
                all.differ.push((ix, said));
            }
            for (at, cut) in told.cuts.iter().enumerate() {
                all.laid.push(lay(told, member, ix, cut, (input, at + 1))?);
            }
        }
        all.members.sort_unstable();
        Ok(all)
    }
}

/// So many members are listed where a sheet does not say which of them it means.
const LISTED: usize = 6;

/// The member of the model that the sheet means: by GlobalId, else by tag, else by name, and by a
/// tag that is given as a name.
fn find(told: &SheetMember, members: &[Member]) -> Result<MemberIx, SheetError> {
    let all = |fits: &dyn Fn(&Member) -> bool| -> Vec<usize> {
        let found = members.iter().enumerate().filter(|(_, member)| fits(member));
        found.map(|(at, _)| at).collect()
    };
    let name_of = |member: &Member| member.element.name.clone().unwrap_or_default();
    let with_tag = |tag: &str| {
        let found = all(&|member| member.element.tag.as_deref() == Some(tag));
        // Many programs write a tag at the end of the name.
        let ends = |member: &Member| name_of(member).rsplit(':').next() == Some(tag);
        if found.is_empty() { all(&ends) } else { found }
    };
    let (found, by) = match (&told.guid, &told.tag) {
        (Some(guid), _) => (with_guid(guid, members), format!("the GlobalId {guid}")),
        (None, Some(tag)) => (with_tag(tag), format!("the tag {tag}")),
        (None, None) => {
            let found = all(&|member| name_of(member) == told.name);
            let found = if found.is_empty() { with_tag(&told.name) } else { found };
            (found, format!("the name {}", told.name))
        }
    };
    let wrong =
        |message: String, help: String| Err(SheetError::new(told.called.clone(), message, help));
    match found.as_slice() {
        [one] => Ok(MemberIx::from(*one)),
        [] => wrong(
            format!("no member of the model has {by}"),
            "`wimble inspect MODEL` lists them".to_owned(),
        ),
        many => {
            let listed: Vec<String> =
                many.iter().take(LISTED).map(|at| which(*at, members)).collect();
            let more = match many.len() - listed.len() {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            wrong(
                format!("{} members of the model have {by}", many.len()),
                format!("say which by guid = \"…\"; they are {}{more}", listed.join(", ")),
            )
        }
    }
}

/// Members of a GlobalId; `GlobalId~n` is the n-th of several, as reports count them.
fn with_guid(guid: &str, members: &[Member]) -> Vec<usize> {
    let of = |guid: &str| same_guid(guid, members);
    match guid.rsplit_once('~') {
        Some((guid, n)) if of(guid).len() > 1 => {
            let n = n.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
            n.and_then(|n| of(guid).get(n).copied()).into_iter().collect()
        }
        _ => of(guid),
    }
}

/// Members that share a GlobalId, in the order in which reports count them: by file, piece, place.
fn same_guid(guid: &str, members: &[Member]) -> Vec<usize> {
    let mut found: Vec<(usize, &Member)> =
        members.iter().enumerate().filter(|(_, m)| m.element.guid == guid).collect();
    let middle = |m: &Member| m.frame.world_m(glam::DVec3::new(m.length_mm / 2.0, 0.0, 0.0));
    found.sort_by(|(i, a), (j, b)| {
        let files = (a.element.input, a.element.item).cmp(&(b.element.input, b.element.item));
        let (p, q) = (middle(a), middle(b));
        files
            .then(p.x.total_cmp(&q.x))
            .then(p.y.total_cmp(&q.y))
            .then(p.z.total_cmp(&q.z))
            .then(i.cmp(j))
    });
    found.into_iter().map(|(at, _)| at).collect()
}

/// A member by what tells it from the others.
fn which(at: usize, members: &[Member]) -> String {
    let Some(member) = members.get(at) else { return String::new() };
    let element = &member.element;
    let same = same_guid(&element.guid, members);
    let id = match same.iter().position(|other| *other == at) {
        Some(n) if same.len() > 1 => format!("{}~{}", element.guid, n + 1),
        _ => element.guid.to_string(),
    };
    let section = &member.section;
    let mut said = vec![format!(
        "{:.0} × {:.0}, {:.0} long",
        section.breadth_mm(),
        section.depth_mm(),
        member.length_mm
    )];
    said.extend(element.name.iter().map(ToString::to_string));
    said.extend(element.tag.iter().map(|tag| format!("tag {tag}")));
    format!("{id} ({})", said.join(", "))
}

/// How a measured member differs from the model's, in words.
fn differs(measured: &Member, model: &Member) -> Option<String> {
    let (a, b) = (measured.section, model.section);
    let mut said = Vec::new();
    if (a.depth_mm() - b.depth_mm()).abs() > SECTION_MM
        || (a.breadth_mm() - b.breadth_mm()).abs() > SECTION_MM
    {
        said.push(format!(
            "measured {:.0} × {:.0}, the model has {:.0} × {:.0}",
            a.breadth_mm(),
            a.depth_mm(),
            b.breadth_mm(),
            b.depth_mm()
        ));
    }
    if let ([there], [here]) = (measured.spans.as_slice(), model.spans.as_slice())
        && (there.length_mm() - here.length_mm()).abs() > SPAN_MM
    {
        said.push(format!(
            "measured clear span {:.0}, the model has {:.0}",
            there.length_mm(),
            here.length_mm()
        ));
    }
    (!said.is_empty()).then(|| said.join("; "))
}

fn lay(
    told: &SheetMember,
    member: &Member,
    ix: MemberIx,
    cut: &SheetCut,
    (input, number): (u32, usize),
) -> Result<Laid, SheetError> {
    let x = place(member, cut, &told.name)?;
    let passage = Passage::of(member, 1);
    // A pipe that was found without its hole measured fills the hole.
    let cut = match (cut.made, &cut.service) {
        (Made::Passing(level), Some(service)) => {
            let made = Made::Hole { size_mm: outside(service), round: true, level };
            SheetCut { made, ..cut.clone() }
        }
        _ => cut.clone(),
    };
    let Some(body) = body::cut(&passage, &cut, x) else {
        return Err(SheetError::new(
            cut.span.clone(),
            "this cut is not measured",
            "say hole = \"27 mm\" or notch = \"27 x 27\"",
        ));
    };
    let element = Element {
        input,
        instance: 0,
        guid: format!("{}/{number}", told.name).into(),
        class: "SiteCut".into(),
        name: Some(cut.name.as_str().into()),
        tag: None,
        item: None,
    };
    let opening = Opening { element, member: ix, source: OpeningSource::Measured, touches: false };
    Ok(Laid { opening, body, service: cut.service.clone() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use wimble_model::{MemberKind, Section};
    use wimble_rules::member_by_hand;

    fn member(guid: &str, name: &str, tag: Option<&str>, item: Option<u32>) -> Member {
        let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
        let mut member = member_by_hand(MemberKind::Joist, section, 3600.0);
        member.element = Element {
            guid: guid.into(),
            name: Some(name.into()),
            tag: tag.map(Into::into),
            item,
            ..Element::default()
        };
        member
    }

    /// The members of the model that the sheets below speak of: the last two are pieces of one element.
    fn members() -> Vec<Member> {
        vec![
            member("guid-a", "Joist", Some("A-01"), None),
            member("guid-b", "Joist", Some("A-02"), None),
            member("guid-c", "Joist:47x220:1234", None, None),
            member("guid-d", "Nogging", Some("A-03"), Some(4)),
            member("guid-d", "Nogging", Some("A-03"), Some(2)),
        ]
    }

    /// Which member is found; or where the mistake points, with what is said.
    fn found(keys: &str) -> Result<usize, (String, String)> {
        let text = format!("[[member]]\n{keys}\n");
        let sheet = Sheet::from_toml(&text).expect("a sheet");
        let ix = find(&sheet.members[0], &members());
        ix.map(MemberIx::at).map_err(|error| {
            (text[error.span].to_owned(), format!("{}; {}", error.message, error.help))
        })
    }

    #[test]
    fn a_member_is_found_by_globalid_tag_or_name() {
        for (keys, at) in [
            ("guid = 'guid-b'", 1),
            ("name = 'whatever'\nguid = 'guid-b'", 1),
            ("tag = 'A-01'", 0),
            ("name = 'first'\ntag = 'A-01'", 0),
            // The tag stands at the end of the name, or the name is the tag.
            ("tag = '1234'", 2),
            ("name = 'A-02'", 1),
            ("name = 'Joist:47x220:1234'", 2),
            // Pieces of one element as reports number them: by item.
            ("guid = 'guid-d~1'", 4),
            ("guid = 'guid-d~2'", 3),
        ] {
            assert_eq!(found(keys), Ok(at), "{keys}");
        }
    }

    #[test]
    fn what_fits_several_or_none_is_an_error_at_its_cell_that_lists_them() {
        for (keys, cell, said) in [
            (
                "name = 'Joist'",
                "'Joist'",
                "2 members of the model have the name Joist; say which by guid = \"…\"; they are guid-a (47 × 220, 3800 long, Joist, tag A-01), guid-b (47 × 220, 3800 long, Joist, tag A-02)",
            ),
            (
                "name = 'x'\ntag = 'A-03'",
                "'A-03'",
                "2 members of the model have the tag A-03; say which by guid = \"…\"; they are guid-d~2 (47 × 220, 3800 long, Nogging, tag A-03), guid-d~1 (47 × 220, 3800 long, Nogging, tag A-03)",
            ),
            (
                "guid = 'guid-d'",
                "'guid-d'",
                "2 members of the model have the GlobalId guid-d; say which",
            ),
            (
                "guid = 'guid-d~3'",
                "'guid-d~3'",
                "no member of the model has the GlobalId guid-d~3; `wimble inspect MODEL` lists them",
            ),
            ("tag = 'A-09'\nname = 'Joist'", "'A-09'", "no member of the model has the tag A-09"),
        ] {
            let (pointed, told) = found(keys).unwrap_err();
            assert_eq!(pointed, cell, "{told}");
            assert!(told.starts_with(said), "{told}");
        }
    }
}
