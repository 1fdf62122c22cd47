//! Site sheets in place of models, or laid over them.

mod as_built;
mod tolerance;

pub(crate) use as_built::AsBuilt;
pub(crate) use tolerance::doubt;

use crate::commands::limits::page;
use crate::{CheckError, Input, PackChoice, Settings, Trouble};
use std::collections::BTreeSet;
use wimble_model::{Cut, Element, MemberIx, Survey};
use wimble_recognise::Scene;
use wimble_report::{MemberLimits, Report};
use wimble_rules::{PackSet, RuleSettings, SiteTolerance, limits};
use wimble_sheet::{Building, Sheet, SheetError};

/// A sheet with its text, so that mistakes can be pointed at.
pub(crate) struct Given<'a> {
    path: &'a str,
    text: String,
    pub(crate) sheet: Sheet,
}

/// Whether a file is a site sheet: by its ending.
pub(crate) fn is_sheet(path: &str) -> bool {
    let path = path.to_lowercase();
    path.ends_with(".toml") || path.ends_with(".csv")
}

/// The sheets that were given to check, if there are any; they are one building, and models do not
/// go with them.
pub(crate) fn among<'a>(inputs: &'a [Input<'_>]) -> Result<Option<Sheets<'a>>, CheckError> {
    let (sheets, models): (Vec<_>, Vec<_>) = inputs.iter().partition(|input| is_sheet(&input.path));
    let Some(first) = sheets.first() else { return Ok(None) };
    if let Some(model) = models.first() {
        let given = Given { path: &first.path, text: String::new(), sheet: Sheet::default() };
        return Err(given.trouble(SheetError {
            span: 0..0,
            message: format!("a site sheet is checked without models, and {} is one", model.path),
            help: "to lay it over models, name them and give the sheet with --as-built".into(),
        }));
    }
    let given = sheets.into_iter().map(Given::read).collect::<Result<Vec<_>, _>>()?;
    Ok(Some(Sheets(given)))
}

/// Sheets that are checked together: one a room or a floor, say.
pub(crate) struct Sheets<'a>(Vec<Given<'a>>);

impl Sheets<'_> {
    /// The building that they tell of.
    pub(crate) fn building(&self, inputs: &[Input<'_>]) -> Result<Building, CheckError> {
        let mut building = Building::default();
        for given in &self.0 {
            building
                .add(&given.sheet, given.path, &given.text)
                .map_err(|error| given.trouble(error))?;
        }
        for (file, input) in building.scene.inputs.iter_mut().zip(inputs) {
            file.blake3 = blake3::hash(&input.bytes).to_hex().to_string();
        }
        Ok(building)
    }

    /// The packs that the sheets name, else those of the settings; with the sentence that says
    /// whence. One report has one set of rules.
    pub(crate) fn packs(&self, settings: &Settings) -> Result<(PackSet, String), CheckError> {
        let mut chosen: Option<(PackSet, String)> = None;
        for given in &self.0 {
            let (packs, said) = given.packs(settings)?;
            match &mut chosen {
                None => chosen = Some((packs, said)),
                Some((before, _)) if !same_rules(before, &packs) => {
                    return Err(given.trouble(SheetError {
                        span: given.sheet.rules_at(),
                        message: format!("{} is judged by other rules", self.first_path()),
                        help: "say the same region or packs in both, or check them one by one"
                            .into(),
                    }));
                }
                // What one of them states is not assumed.
                Some((_, before)) if before.contains("assumed") => *before = said,
                Some(_) => {}
            }
        }
        chosen.ok_or(CheckError::NothingGiven)
    }

    /// Who measured. A record is signed by one person for one survey, so they all are of it.
    pub(crate) fn survey(&self) -> Result<Option<Survey>, CheckError> {
        let Some((first, rest)) = self.0.split_first() else { return Ok(None) };
        let said = |survey: &Option<Survey>| match survey {
            None => "is a plan".to_owned(),
            Some(survey) if survey.on.is_empty() => format!("was measured by {}", survey.by),
            Some(survey) => format!("was measured by {} on {}", survey.by, survey.on),
        };
        for given in rest {
            if given.sheet.survey != first.sheet.survey {
                let (one, other) = (said(&first.sheet.survey), said(&given.sheet.survey));
                let message = match one == other {
                    true => format!("{} was measured otherwise than this sheet", first.path),
                    false => format!("{} {one}, and this sheet {other}", first.path),
                };
                return Err(given.trouble(SheetError {
                    span: given.sheet.measured_at(),
                    message,
                    help: "check them one by one: a record is signed for one survey".into(),
                }));
            }
        }
        Ok(first.sheet.survey.clone())
    }

    fn first_path(&self) -> &str {
        self.0.first().map_or("", |given| given.path)
    }
}

fn same_rules(a: &PackSet, b: &PackSet) -> bool {
    a.in_force().map(wimble_rules::Pack::id).eq(b.in_force().map(wimble_rules::Pack::id))
}

impl<'a> Given<'a> {
    /// Reads a sheet.
    pub(crate) fn read(input: &'a Input<'_>) -> Result<Self, CheckError> {
        let mut given = Self { path: &input.path, text: String::new(), sheet: Sheet::default() };
        match std::str::from_utf8(&input.bytes) {
            Ok(text) => text.clone_into(&mut given.text),
            Err(fault) => {
                given.text = String::from_utf8_lossy(&input.bytes).into_owned();
                let at = fault.valid_up_to();
                return Err(given.trouble(SheetError {
                    span: at..at + 1,
                    message: "the sheet is not UTF-8 text".into(),
                    help: "save it again as UTF-8 (in a spreadsheet: CSV UTF-8)".into(),
                }));
            }
        }
        let read = if input.path.to_lowercase().ends_with(".csv") {
            Sheet::from_csv(&given.text)
        } else {
            Sheet::from_toml(&given.text)
        };
        match read {
            Ok(sheet) => given.sheet = sheet,
            Err(error) => return Err(given.trouble(error)),
        }
        Ok(given)
    }

    /// The packs that the sheet names, else those of the settings; with the sentence that says
    /// whence.
    fn packs(&self, settings: &Settings) -> Result<(PackSet, String), CheckError> {
        let known = settings.packs.clone();
        let named = self.sheet.packs();
        for (id, span) in &named {
            if known.get(id).is_none() {
                let ids: Vec<&str> = known.known().map(wimble_rules::Pack::id).collect();
                let help = match crate::settings::near(id, ids.iter().copied()).as_slice() {
                    [] => format!("known are {}", ids.join(", ")),
                    names => format!("did you mean {}?", names.join(" or ")),
                };
                let message = format!("there is no pack `{id}`");
                return Err(self.trouble(SheetError { span: span.clone(), message, help }));
            }
        }
        if !named.is_empty() {
            let ids = named.iter().map(|(id, _)| (*id).to_owned()).collect();
            return Ok(crate::region::packs_without_a_model(known, &PackChoice::Named(ids))?);
        }
        if let Some((code, span)) = self.sheet.region() {
            return match known.region_set(code) {
                Ok(packs) => {
                    Ok((packs, format!("Rules: {} (stated)", crate::region::name_of(code))))
                }
                Err(unknown) => Err(self.trouble(SheetError {
                    span,
                    message: format!("there is no set of packs for the region `{code}`"),
                    help: format!("there are sets for: {}", unknown.known.join(", ")),
                })),
            };
        }
        Ok(crate::region::packs_without_a_model(known, &settings.choice)?)
    }

    /// A mistake with the line that it is in.
    pub(crate) fn trouble(&self, error: SheetError) -> CheckError {
        CheckError::Sheet(Box::new(Trouble {
            path: self.path.to_owned(),
            text: self.text.clone(),
            span: error.span,
            message: error.message,
            help: error.help,
        }))
    }
}

/// What only a site sheet says, after its members, services and cuts are taken out of it.
pub(crate) struct FromSheet {
    pub(crate) building: Building,
    pub(crate) survey: Option<Survey>,
}

/// Rows of sheets that take nothing of any member: they are judged nowhere, which is said.
pub(crate) fn untouched(scene: &Scene, cuts: &[Cut]) -> Vec<wimble_recognise::Warning> {
    let services = scene.services.iter().map(|service| &service.element);
    let rows = services.chain(scene.openings.iter().map(|opening| &opening.element));
    let rows: Vec<&Element> = rows.filter(|row| row.class.starts_with("Site")).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let mut met: BTreeSet<(u32, &str)> = BTreeSet::new();
    for cut in cuts {
        let services = cut.services.iter().chain(&cut.besides.inside);
        let services = services.filter_map(|ix| scene.services.get(ix.at()));
        let openings = cut.openings.iter().chain(&cut.besides.too_small);
        let openings = openings.filter_map(|ix| scene.openings.get(ix.at()));
        met.extend(services.map(|s| (s.element.input, s.element.guid.as_str())));
        met.extend(openings.map(|o| (o.element.input, o.element.guid.as_str())));
    }
    let mut told: Vec<wimble_recognise::Warning> = rows
        .into_iter()
        .filter(|row| !met.contains(&(row.input, row.guid.as_str())))
        .map(|row| {
            let name = row.name.as_deref().unwrap_or_default();
            let member = row.guid.rsplit_once('/').map_or("", |(member, _)| member);
            wimble_recognise::Warning {
                input: Some(row.input),
                line: (row.instance > 0).then_some(row.instance),
                text: format!(
                    "{name} takes nothing of {member} and is not judged: look at its size and level"
                ),
            }
        })
        .collect();
    told.dedup();
    told
}

/// Puts the limits of every member with cuts into the report, for the record.
pub(crate) fn tell_limits(report: &mut Report, packs: &PackSet, rules: &RuleSettings) {
    report.limits = report
        .members
        .iter()
        .enumerate()
        .filter(|(at, _)| report.cuts.iter().any(|cut| cut.member.at() == *at))
        .map(|(at, member)| {
            let told = limits(member, packs, rules);
            let span = match member.spans.as_slice() {
                [one] => Some(one.length_mm()),
                _ => None,
            };
            MemberLimits {
                member: MemberIx::from(at),
                lines: told
                    .rows
                    .iter()
                    .filter(|row| row.usual)
                    .map(|row| page::sentence(row, span))
                    .collect(),
            }
        })
        .collect();
}

/// The errors that a measured cut may have.
pub(crate) const fn tolerance(survey: &Survey) -> SiteTolerance {
    SiteTolerance { along_mm: survey.along_mm, level_mm: survey.level_mm, size_mm: survey.size_mm }
}
