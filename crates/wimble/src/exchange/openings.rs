//! A copy of a structure model with an opening for each passing cut that has none.

use super::added::{Added, text, to, word};
use super::guid::guid;
use super::void::{Void, purpose};
use super::{NewFile, owner, wanted};
use crate::check::{open as opened, unpack};
use crate::{Input, Settings};
use anyhow::{Context, Result, bail};
use glam::DAffine3;
use std::collections::BTreeMap;
use wimble_ifc::{Model, Schema};
use wimble_model::Cut;
use wimble_report::{Names, Report};
use wimble_step::{NewValue, Row};

/// Position of the placement among the parameters of a product.
const PLACEMENT: usize = 5;

/// A copy of every file that holds members with such cuts; of the first with members if none has.
/// Only appended to: every byte of the original stays.
pub(crate) fn openings(
    report: &Report,
    inputs: &[Input<'_>],
    settings: &Settings,
) -> Result<Vec<NewFile>> {
    let names = Names::of(report);
    let mut by_file: BTreeMap<u32, Vec<(&Cut, &str)>> = BTreeMap::new();
    for (cut, id) in report.cuts.iter().zip(&names.cuts).filter(|(cut, _)| wanted(report, cut)) {
        let Some(member) = report.members.get(cut.member.at()) else { continue };
        by_file.entry(member.element.input).or_default().push((cut, id));
    }
    if by_file.is_empty() {
        let Some(member) = report.members.first() else {
            bail!("there is no member in any of the models, so there is no structure to copy");
        };
        by_file.insert(member.element.input, Vec::new());
    }
    let unpacked = inputs.iter().map(unpack).collect::<Result<Vec<_>, _>>()?;
    let models =
        inputs.iter().zip(&unpacked).map(|(i, b)| opened(i, b)).collect::<Result<Vec<_>, _>>()?;
    let moves =
        wimble_recognise::moves(&models.iter().collect::<Vec<_>>(), settings.recognise.align_map);
    let several = by_file.len() > 1;
    by_file
        .into_iter()
        .map(|(input, cuts)| {
            let at = input as usize;
            let (Some(model), Some(file)) = (models.get(at), inputs.get(at)) else {
                bail!("input {input} is not among the files given");
            };
            let shift = moves.get(at).copied().flatten().unwrap_or(DAffine3::IDENTITY);
            let (added, remarks) = instances(report, model, &shift, &cuts);
            let bytes = wimble_step::append(model.step(), &added.instances)
                .with_context(|| format!("no copy of {} can be made", file.path))?;
            Ok(NewFile { of: several.then(|| file.path.clone()), bytes, remarks })
        })
        .collect()
}

/// The instances of all openings in one file, with a sentence for each that could not be made.
fn instances(
    report: &Report,
    model: &Model<'_>,
    shift: &DAffine3,
    cuts: &[(&Cut, &str)],
) -> (Added, Vec<String>) {
    let mut added = Added::after(model.step().largest_name(), model.units().metres_per_length);
    let mut remarks = Vec::new();
    for (cut, id) in cuts {
        let Some(void) = Void::of(report, cut) else { continue };
        if let Err(why) = opening(report, model, shift, cut, id, &void, &mut added) {
            remarks.push(format!("no opening was made for cut {id}: {why}"));
        }
    }
    (added, remarks)
}

fn opening(
    report: &Report,
    model: &Model<'_>,
    shift: &DAffine3,
    cut: &Cut,
    id: &str,
    void: &Void,
    added: &mut Added,
) -> Result<()> {
    let member = report.members.get(cut.member.at()).context("its member is not known")?;
    let step = model.step();
    let host = step.find(member.element.instance).context("its member is not in the file")?;
    let context = body_context(model, host).with_context(|| {
        format!("{} {} has no body of its own", member.element.class, member.element.guid)
    })?;
    let world = model.placement(host).map_err(|why| anyhow::anyhow!("{why}"))?;
    let into = (*shift * world).inverse();
    let on = step.record(host).get(PLACEMENT).reference();
    let owner = owner::of_host(model, host, added);
    let (placement, shape) = added.void(void, &into, on, context);
    let kind = if void.through { "OPENING" } else { "RECESS" };
    let open = || NewValue::Unset;
    let mut values =
        vec![text(&guid("opening", id)), owner.clone(), text(&purpose(report, cut)), open()];
    if model.schema() == Schema::Ifc2x3 {
        // IFC2X3 has no predefined type; its object type says the same.
        let said = if void.through { "Opening" } else { "Recess" };
        values.extend([text(said), to(placement), to(shape), open()]);
    } else {
        values.extend([open(), to(placement), to(shape), open(), word(kind)]);
    }
    let opening = added.add("IFCOPENINGELEMENT", values);
    let host = to(step.name(host));
    added.add(
        "IFCRELVOIDSELEMENT",
        vec![text(&guid("voids", id)), owner, open(), open(), host, to(opening)],
    );
    Ok(())
}

/// The representation context of a product's body.
fn body_context(model: &Model<'_>, host: Row) -> Option<u64> {
    let shape = model.reference(host, "Representation")?;
    let all = model.references(shape, "Representations");
    let is_body =
        |row: &&Row| model.text(**row, "RepresentationIdentifier").as_deref() == Some("Body");
    let body = all.iter().find(is_body).or(all.first())?;
    Some(model.step().name(model.reference(*body, "ContextOfItems")?))
}
