//! A sheet, read.

use crate::error::SheetError;
use crate::head;
use crate::member::{self, SheetMember};
use crate::row::{Cell, RawSheet};
use crate::tape::TapeUnit;
use crate::{table, text};
use std::ops::Range;
use wimble_model::Survey;

/// Members and cuts measured by hand.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// What it is of (`12 Mill Lane, bathroom`); may be empty.
    pub title: String,
    /// The unit of bare figures.
    pub unit: TapeUnit,
    /// Who measured; `None` for a plan.
    pub survey: Option<Survey>,
    /// The members, in the order of the sheet.
    pub members: Vec<SheetMember>,
    /// How names of pipes were read, and other things that were taken as given.
    pub assumptions: Vec<String>,
    pub(crate) region: Option<Cell>,
    pub(crate) packs: Vec<Cell>,
    /// Where it says who measured.
    pub(crate) measured: Option<Range<usize>>,
}

impl Sheet {
    /// Reads a sheet written as TOML.
    ///
    /// # Errors
    /// The first mistake, with its place.
    pub fn from_toml(text: &str) -> Result<Self, SheetError> {
        Self::of(text::read(text)?)
    }

    /// Reads a sheet written as a table: separated by commas, semicolons or tabs.
    ///
    /// # Errors
    /// The first mistake, with the cell that it is in.
    pub fn from_csv(text: &str) -> Result<Self, SheetError> {
        Self::of(table::read(text)?)
    }

    /// The region that it names, with its place in the text.
    #[must_use]
    pub fn region(&self) -> Option<(&str, Range<usize>)> {
        self.region.as_ref().map(|cell| (cell.text.trim(), cell.span.clone()))
    }

    /// The packs that it names, with their places in the text.
    #[must_use]
    pub fn packs(&self) -> Vec<(&str, Range<usize>)> {
        self.packs.iter().map(|cell| (cell.text.trim(), cell.span.clone())).collect()
    }

    /// Where in the text it says by which rules it is judged; its beginning, if it does not.
    #[must_use]
    pub fn rules_at(&self) -> Range<usize> {
        let cell = self.region.as_ref().or(self.packs.first());
        cell.map_or(0..0, |cell| cell.span.clone())
    }

    /// Where in the text it says who measured; its beginning, if it does not.
    #[must_use]
    pub fn measured_at(&self) -> Range<usize> {
        self.measured.clone().unwrap_or(0..0)
    }

    fn of(raw: RawSheet) -> Result<Self, SheetError> {
        let head = head::head(raw.head)?;
        let measured = raw.measured.as_ref().map(|row| row.span.clone());
        let survey = raw.measured.map(|row| head::survey(row, head.unit)).transpose()?;
        let mut assumptions = Vec::new();
        let mut members: Vec<SheetMember> = Vec::new();
        for raw in raw.members {
            let member = member::read(raw, head.unit, members.len() + 1, &mut assumptions)?;
            if members.iter().any(|other| other.name == member.name) {
                let message = format!("two members are called `{}`", member.name);
                return Err(SheetError::new(
                    member.span,
                    message,
                    "give each a name of its own: findings and drawings go by it",
                ));
            }
            members.push(member);
        }
        if members.is_empty() {
            let help = "write [[member]] with its section and span, and [[member.cut]] under it";
            return Err(SheetError::new(0..0, "the sheet has no member", help));
        }
        if let Some(survey) = survey.as_ref().filter(|survey| survey.tolerance_assumed) {
            assumptions.push(format!(
                "Measured to ± {} mm along, {} mm in level, {} mm in size (assumed where the sheet does not say)",
                survey.along_mm, survey.level_mm, survey.size_mm
            ));
        }
        assumptions.dedup();
        Ok(Self {
            title: head.title,
            unit: head.unit,
            survey,
            members,
            assumptions,
            region: head.region,
            packs: head.packs,
            measured,
        })
    }
}
