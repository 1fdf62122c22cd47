//! Site sheets in place of models, or laid over them.

mod as_built;
mod tolerance;

pub(crate) use as_built::AsBuilt;
pub(crate) use tolerance::doubt;

use crate::commands::limits::page;
use crate::{CheckError, Input, PackChoice, Settings, Trouble};
use wimble_model::MemberIx;
use wimble_report::{MemberLimits, Report};
use wimble_rules::{PackSet, RuleSettings, SiteTolerance, limits};
use wimble_sheet::{Building, Sheet, SheetError, Survey};

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

/// The sheet among what was given to check, if there is one: it is checked alone.
pub(crate) fn among<'a>(inputs: &'a [Input<'_>]) -> Result<Option<Given<'a>>, CheckError> {
    let Some(sheet) = inputs.iter().find(|input| is_sheet(&input.path)) else {
        return Ok(None);
    };
    if inputs.len() > 1 {
        let given = Given { path: &sheet.path, text: String::new(), sheet: Sheet::default() };
        return Err(given.trouble(SheetError {
            span: 0..0,
            message: "a site sheet is checked alone".into(),
            help: "to lay it over models, name them and give the sheet with --as-built".into(),
        }));
    }
    Given::read(sheet).map(Some)
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

    /// The building that it tells of.
    pub(crate) fn building(&self, input: &Input<'_>) -> Result<Building, CheckError> {
        let mut building =
            self.sheet.building(self.path, &self.text).map_err(|error| self.trouble(error))?;
        if let Some(file) = building.scene.inputs.first_mut() {
            file.blake3 = blake3::hash(&input.bytes).to_hex().to_string();
        }
        Ok(building)
    }

    /// The packs that the sheet names, else those of the settings; with the sentence that says
    /// whence.
    pub(crate) fn packs(&self, settings: &Settings) -> Result<(PackSet, String), CheckError> {
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

/// Who measured, for the report.
pub(crate) fn survey(survey: &Survey) -> wimble_report::Survey {
    wimble_report::Survey {
        by: survey.by.clone(),
        on: survey.on.clone(),
        with: survey.with.clone(),
        along_mm: survey.along_mm,
        level_mm: survey.level_mm,
        size_mm: survey.size_mm,
    }
}
