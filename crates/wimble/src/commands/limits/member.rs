//! Which members are asked about, and by which packs.

use super::range::lengths;
use crate::args::{self, MemberMake};
use crate::check::inspect_with;
use crate::{PackChoice, source};
use anyhow::{Result, bail};
use std::path::PathBuf;
use wimble_model::{Member, MemberKind, Place, Section, TimberMake};
use wimble_rules::{PackSet, RuleSettings, member_by_hand};
use wimble_sheet::TapeUnit;

/// Everything that is asked.
pub(super) struct Asked {
    pub(super) cases: Vec<Case>,
    pub(super) packs: PackSet,
    pub(super) rules: RuleSettings,
    /// The unit that was typed.
    pub(super) unit: TapeUnit,
    pub(super) assumptions: Vec<String>,
}

/// One member.
pub(super) struct Case {
    pub(super) member: Member,
}

/// Web of an I-joist when only its flange is said (our own figure): it sets no limit of a hole
/// through the web.
const WEB_MM: f64 = 10.0;

impl Asked {
    pub(super) fn of(arguments: &args::Limits) -> Result<Self> {
        match &arguments.member {
            Some(wanted) => of_model(arguments, wanted),
            None => by_hand(arguments),
        }
    }
}

fn by_hand(arguments: &args::Limits) -> Result<Asked> {
    if let Some(model) = arguments.models.first() {
        bail!("{}: say which member of the model with --member GUID or NAME", model.display());
    }
    let (Some(depth), Some(span)) = (&arguments.depth, &arguments.span) else {
        bail!("say the finished depth and the clear span: --depth 220 --span 3600");
    };
    let (depths, first) = lengths("depth", depth)?;
    let (spans, second) = lengths("span", span)?;
    let unit = if first == TapeUnit::Inch || second == TapeUnit::Inch {
        TapeUnit::Inch
    } else {
        TapeUnit::Mm
    };
    let mut assumptions = Vec::new();
    let breadth_mm = match &arguments.breadth {
        Some(text) => one("breadth", text)?,
        None => {
            let (mm, said) =
                if unit == TapeUnit::Inch { (38.1, "1-1/2 in") } else { (47.0, "47 mm") };
            assumptions.push(format!("Breadth: {said} (assumed)"));
            mm
        }
    };
    let flange = arguments.flange.as_deref().map(|text| one("flange", text)).transpose()?;
    let web = arguments.web.as_deref().map(|text| one("web", text)).transpose()?;
    let here = [PathBuf::from("./model")];
    let settings = source::settings(arguments.config.as_deref(), &here)?;
    let (packs, said) = packs(arguments, settings.packs, &settings.choice)?;
    assumptions.insert(0, said);
    let mut cases = Vec::new();
    for &depth_mm in &depths {
        for &span_mm in &spans {
            let section = match flange {
                Some(flange_mm) if 2.0 * flange_mm >= depth_mm => {
                    bail!("--flange: two flanges are deeper than the joist")
                }
                Some(flange_mm) => Section::IJoist {
                    breadth_mm,
                    depth_mm,
                    flange_mm,
                    web_mm: web.unwrap_or(WEB_MM),
                },
                None => Section::Rectangle { breadth_mm, depth_mm },
            };
            let member = named(arguments, member_by_hand(arguments.kind.0, section, span_mm));
            cases.push(Case { member });
        }
    }
    Ok(Asked { cases, packs, rules: settings.rules, unit, assumptions })
}

/// What is said of the member besides its sizes.
fn named(arguments: &args::Limits, mut member: Member) -> Member {
    member.element.name = None;
    member.material = arguments.product.as_deref().map(Into::into);
    if member.section.word() == "rectangle" {
        member.make = match arguments.make {
            MemberMake::Solid => TimberMake::Solid,
            MemberMake::Glulam => TimberMake::Glulam,
            MemberMake::Lvl => TimberMake::Lvl,
        };
    }
    member.place = match member.kind {
        MemberKind::Rafter => Place::PitchedRoof,
        MemberKind::Stud | MemberKind::Post | MemberKind::Plate | MemberKind::Lintel => Place::Wall,
        _ => Place::Floor,
    };
    if matches!(member.kind, MemberKind::Stud | MemberKind::Post | MemberKind::Plate) {
        member.load_bearing = Some(!arguments.partition);
    }
    member
}

fn one(option: &str, text: &str) -> Result<f64> {
    match lengths(option, text)?.0.as_slice() {
        [mm] => Ok(*mm),
        _ => bail!("--{option} takes one length; only --depth and --span take a range"),
    }
}

fn packs(
    arguments: &args::Limits,
    known: PackSet,
    choice: &PackChoice,
) -> Result<(PackSet, String)> {
    if !arguments.packs.is_empty() {
        let said = format!("Rules: {} (stated)", arguments.packs.join(", "));
        return Ok((known.choose(&arguments.packs)?, said));
    }
    if let Some(region) = &arguments.region {
        let said = format!("Rules: {} (stated)", crate::region::name_of(region));
        return Ok((known.region_set(region)?, said));
    }
    Ok(crate::region::packs_without_a_model(known, choice)?)
}

/// A member of models, by its GlobalId or name.
fn of_model(arguments: &args::Limits, wanted: &str) -> Result<Asked> {
    if arguments.models.is_empty() {
        bail!("--member {wanted}: name the model that it is in");
    }
    let models = args::Models {
        models: arguments.models.clone(),
        config: arguments.config.clone(),
        format: arguments.format,
        align: None,
        all: false,
        threads: 0,
    };
    let settings = super::super::check::settings(&models)?;
    let report = super::super::check::with_models(&models, |inputs, stage| {
        Ok(inspect_with(inputs, &settings, stage)?)
    })?;
    let in_force: Vec<&str> = report.packs.iter().map(|pack| pack.id.as_str()).collect();
    let (packs, said) = if arguments.packs.is_empty() && arguments.region.is_none() {
        let packs = settings.packs.choose(&in_force)?;
        (packs, report.assumptions.first().cloned().unwrap_or_default())
    } else {
        packs(arguments, settings.packs, &settings.choice)?
    };
    let found = super::super::named::all(&report, wanted)?;
    let found = found.into_iter().filter_map(|ix| report.members.get(ix.at()).cloned());
    let cases = found.map(|member| Case { member }).collect();
    Ok(Asked { cases, packs, rules: settings.rules, unit: TapeUnit::Mm, assumptions: vec![said] })
}
