//! A sheet laid over the members of a model: what is really cut in them.

use crate::body::{self, Across};
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
                return Err(SheetError::new(told.span.clone(), message, "put its cuts together"));
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

fn find(told: &SheetMember, members: &[Member]) -> Result<MemberIx, SheetError> {
    let fits = |member: &Member| {
        let name = member.element.name.as_deref().unwrap_or_default();
        match (&told.guid, &told.tag) {
            (Some(guid), _) => member.element.guid == *guid,
            // Many programs write a tag at the end of the name.
            (None, Some(tag)) => name == tag || name.rsplit(':').next() == Some(tag.as_str()),
            (None, None) => name == told.name,
        }
    };
    let found: Vec<usize> =
        members.iter().enumerate().filter(|(_, member)| fits(member)).map(|(at, _)| at).collect();
    let by = match (&told.guid, &told.tag) {
        (Some(guid), _) => format!("the GlobalId {guid}"),
        (None, Some(tag)) => format!("the tag {tag}"),
        (None, None) => format!("the name {}", told.name),
    };
    match found.as_slice() {
        [one] => Ok(MemberIx::from(*one)),
        [] => Err(SheetError::new(
            told.span.clone(),
            format!("no member of the model has {by}"),
            "`wimble inspect MODEL` lists them",
        )),
        many => Err(SheetError::new(
            told.span.clone(),
            format!("{} members of the model have {by}", many.len()),
            "say its GlobalId: guid = \"…\"",
        )),
    }
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
    let across = Across::of(member, 1);
    // A pipe that was found without its hole measured fills the hole.
    let cut = match (cut.made, &cut.service) {
        (Made::Passing(level), Some(service)) => {
            let made = Made::Hole { size_mm: outside(service), round: true, level };
            SheetCut { made, ..cut.clone() }
        }
        _ => cut.clone(),
    };
    let Some(body) = body::cut(&member.frame, &cut, member.section.depth_mm(), across, x) else {
        return Err(SheetError::new(
            cut.span.clone(),
            "this cut is not measured",
            "say hole = \"27 mm\" or notch = \"27 x 27\"",
        ));
    };
    let element = Element {
        input,
        instance: 0,
        guid: format!("{}/{number}", told.name),
        class: "SiteCut".to_owned(),
        name: Some(cut.name.clone()),
        item: None,
    };
    let opening = Opening { element, member: ix, source: OpeningSource::Measured, touches: false };
    Ok(Laid { opening, body, service: cut.service.clone() })
}
