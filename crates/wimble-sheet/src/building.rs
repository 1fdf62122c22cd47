//! From a sheet to what crossing and rules work on.

use crate::body::{self, Passage};
use crate::cut::{Made, SheetCut, outside};
use crate::error::SheetError;
use crate::member::SheetMember;
use crate::sheet::Sheet;
use crate::tape::TapeUnit;
use wimble_model::{
    CoverageRow, CoverageStatus, Cut, Element, Member, MemberIx, Note, Opening, OpeningIx,
    OpeningSource, Role, Service, ServiceIx, Storey,
};
use wimble_recognise::{Input, Scene, ServiceBody};

/// Members of a sheet stand this far apart in the world, so that nothing of one meets another, m.
const APART_M: f64 = 5.0;
/// Class under which rows of a sheet are listed.
const MEMBER: &str = "SiteMember";
const SERVICE: &str = "SiteService";
const CUT: &str = "SiteCut";

/// What a sheet without a title is called.
const UNTITLED: &str = "Site sheet";

/// Sheets as a building: each is an input of its own and, under its title, a storey of its own.
#[derive(Debug, Clone, Default)]
pub struct Building {
    /// Members, services and cuts.
    pub scene: Scene,
    /// Line of each member in its sheet (parallel to the scene's members).
    pub member_lines: Vec<Option<u64>>,
    /// Members of the sheets so far, plies not counted: each stands apart from the others.
    placed: u32,
    /// Services that pass through a cut that was measured.
    pub(crate) in_openings: Vec<(OpeningIx, ServiceIx)>,
    /// Cuts of which the sheet says that they are there already.
    pub(crate) existing: Vec<OpeningIx>,
}

impl Building {
    /// Adds what a sheet tells of. `path` is what the sheet is called, `text` what mistakes are
    /// counted in lines of.
    ///
    /// # Errors
    /// A member whose section is not said, or a cut that does not lie in its member.
    pub fn add(&mut self, sheet: &Sheet, path: &str, text: &str) -> Result<(), SheetError> {
        let input = u32::try_from(self.scene.inputs.len()).unwrap_or(u32::MAX);
        self.open(sheet, path);
        let mut make = Make { text, input, building: self };
        for member in &sheet.members {
            make.member(member)?;
        }
        make.finish();
        Ok(())
    }

    /// A further input, with its storey.
    fn open(&mut self, sheet: &Sheet, path: &str) {
        let scene = &mut self.scene;
        let rows = sheet.members.iter().map(|m| 1 + m.cuts.len()).sum::<usize>();
        scene.inputs.push(Input {
            path: path.to_owned(),
            blake3: String::new(),
            schema: "site sheet".to_owned(),
            length_unit: match sheet.unit {
                TapeUnit::Mm => "mm".to_owned(),
                TapeUnit::Inch => "inch".to_owned(),
            },
            instances: rows as u64,
            partial: false,
        });
        let name = if sheet.title.is_empty() { UNTITLED } else { &sheet.title };
        scene.storeys.push(Storey { name: name.to_owned(), elevation_m: None });
        if scene.storeys.len() > 1 {
            for (storey, input) in scene.storeys.iter_mut().zip(&scene.inputs) {
                if storey.name == UNTITLED {
                    storey.name.clone_from(&input.path);
                }
            }
        }
        for said in &sheet.assumptions {
            if !scene.assumptions.contains(said) {
                scene.assumptions.push(said.clone());
            }
        }
    }

    /// Tells the cuts that were measured which service passes through them: crossing knows them
    /// by their openings only, because their size is what was measured, not what the pipe needs.
    pub fn name_services(&self, cuts: &mut [Cut]) {
        for cut in cuts {
            let of_cut = |ix: &OpeningIx| cut.openings.contains(ix);
            let through: Vec<ServiceIx> =
                self.in_openings.iter().filter(|(ix, _)| of_cut(ix)).map(|(_, s)| *s).collect();
            if self.existing.iter().any(of_cut) {
                cut.besides.notes.push(Note::from("there already"));
            }
            cut.services.extend(through);
            cut.services.sort_unstable();
            cut.services.dedup();
            cut.shared = u32::try_from(cut.services.len()).unwrap_or(u32::MAX).max(cut.shared);
        }
    }
}

impl Sheet {
    /// The building that this sheet alone tells of, as [`Building::add`] has it.
    ///
    /// # Errors
    /// A member whose section is not said, or a cut that does not lie in its member.
    pub fn building(&self, path: &str, text: &str) -> Result<Building, SheetError> {
        let mut building = Building::default();
        building.add(self, path, text)?;
        Ok(building)
    }
}

/// Adds one sheet.
struct Make<'a> {
    text: &'a str,
    input: u32,
    building: &'a mut Building,
}

impl Make<'_> {
    fn member(&mut self, told: &SheetMember) -> Result<(), SheetError> {
        let Some(facts) = &told.facts else {
            return Err(SheetError::new(
                told.span.clone(),
                format!("the section of {} is missing", told.name),
                "add section = \"47 x 220\" and span; or lay the sheet over a model: \
                 wimble check model.ifc --as-built FILE",
            ));
        };
        let line = line_of(self.text, told.span.start);
        let first = MemberIx::from(self.building.scene.members.len());
        let place = f64::from(self.building.placed) * APART_M;
        self.building.placed += 1;
        for ply in 0..told.plies {
            let mut member = facts.clone();
            // 5 m apart is exact in binary, so that no figure of a sheet depends on its row.
            member.frame.origin_m +=
                member.frame.y() * place + Passage::next_ply_m(&member) * f64::from(ply);
            let name = match ply {
                0 => told.name.clone(),
                ply => format!("{}, ply {}", told.name, ply + 1),
            };
            member.element = Element {
                input: self.input,
                instance: line,
                guid: match (&told.guid, ply) {
                    (Some(guid), 0) => guid.as_str().into(),
                    _ => name.as_str().into(),
                },
                class: MEMBER.into(),
                name: Some(name.into()),
                tag: told.tag.as_deref().map(Into::into),
                item: None,
            };
            member.storey = Some(self.input);
            if told.plies > 1 {
                member.role = Some(Role::Ply);
                member.with = (0..told.plies)
                    .filter(|other| *other != ply)
                    .map(|other| MemberIx(first.0 + other))
                    .collect();
            }
            self.building.scene.member_bodies.push(body::member(&member));
            self.building.scene.members.push(member);
            self.building.member_lines.push(Some(line));
        }
        let Some(member) = self.building.scene.members.get(first.at()).cloned() else {
            return Ok(());
        };
        for (at, cut) in told.cuts.iter().enumerate() {
            self.cut(told, &member, first, cut, at + 1)?;
        }
        Ok(())
    }

    fn cut(
        &mut self,
        told: &SheetMember,
        member: &Member,
        first: MemberIx,
        cut: &SheetCut,
        number: usize,
    ) -> Result<(), SheetError> {
        let x = place(member, cut, &told.name)?;
        let passage = Passage::of(member, told.plies);
        let input = self.input;
        let element = |class: &str| Element {
            input,
            instance: line_of(self.text, cut.span.start),
            guid: format!("{}/{number}", told.name).into(),
            class: class.into(),
            name: Some(cut.name.as_str().into()),
            tag: None,
            item: None,
        };
        let (of_service, of_cut) = (element(SERVICE), element(CUT));
        let scene = &mut self.building.scene;
        let mut opened = Vec::new();
        if let Some(solid) = body::cut(&passage, cut, x) {
            for ply in 0..told.plies {
                opened.push(OpeningIx::from(scene.openings.len()));
                scene.openings.push(Opening {
                    element: of_cut.clone(),
                    member: MemberIx(first.0 + ply),
                    source: OpeningSource::Measured,
                    touches: false,
                });
                scene.opening_bodies.push(solid.clone());
            }
        }
        if let Some(service) = &cut.service {
            let ix = ServiceIx::from(scene.services.len());
            let z = match cut.made {
                Made::Passing(level) => level.above_middle_mm(outside(service)[1], passage.high),
                _ => 0.0,
            };
            let body = if opened.is_empty() {
                body::service(&passage, service, x, z)
            } else {
                ServiceBody::Line { points: Vec::new() }
            };
            scene.services.push(Service {
                element: of_service,
                run: ix.0,
                storey: Some(input),
                ..service.clone()
            });
            scene.service_bodies.push(body);
            self.building.in_openings.extend(opened.iter().map(|opening| (*opening, ix)));
        }
        if cut.existing {
            self.building.existing.extend(opened);
        }
        Ok(())
    }

    /// The coverage of the sheet.
    fn finish(self) {
        let (scene, input) = (&mut self.building.scene, self.input);
        let row = |class: &str, status, reason: &str, elements: Vec<&Element>| {
            let own: Vec<&Element> = elements.into_iter().filter(|e| e.input == input).collect();
            CoverageRow {
                input,
                class: class.into(),
                status,
                reason: reason.to_owned(),
                count: u32::try_from(own.len()).unwrap_or(u32::MAX),
                examples: own.iter().map(|e| e.guid.to_string()).take(5).collect(),
            }
        };
        let rows = [
            row(
                CUT,
                CoverageStatus::Opening,
                "cut of the sheet",
                scene.openings.iter().map(|o| &o.element).collect(),
            ),
            row(
                MEMBER,
                CoverageStatus::Member,
                "member of the sheet",
                scene.members.iter().map(|m| &m.element).collect(),
            ),
            row(
                SERVICE,
                CoverageStatus::Service,
                "service of the sheet",
                scene.services.iter().map(|s| &s.element).collect(),
            ),
        ];
        scene.coverage.extend(rows.into_iter().filter(|row| row.count > 0));
    }
}

/// Where a cut lies along its member; one that lies nowhere in it is a mistake.
pub(crate) fn place(member: &Member, cut: &SheetCut, name: &str) -> Result<f64, SheetError> {
    let wrong = |message: String, help: &str| Err(SheetError::new(cut.span.clone(), message, help));
    let Some(x) = cut.place.x_mm(member) else {
        return wrong(
            format!("{name} has no bearing face to measure from"),
            "measure from its end: from = \"left-end\"",
        );
    };
    let half = match cut.made {
        Made::Passing(_) => cut.service.as_ref().map_or(0.0, |s| outside(s)[0] / 2.0),
        Made::Hole { size_mm, .. } | Made::Notch { size_mm, .. } => size_mm[0] / 2.0,
    };
    if x + half < 0.0 || x - half > member.length_mm {
        return wrong(
            format!("this lies beyond the end of {name}, which is {:.0} mm long", member.length_mm),
            "check the distance and the face that it is measured from",
        );
    }
    let depth = Passage::of(member, 1).high;
    let z = match cut.made {
        Made::Passing(level) => {
            let high = cut.service.as_ref().map_or(0.0, |s| outside(s)[1]);
            Some((level.above_middle_mm(high, depth), high))
        }
        Made::Hole { size_mm, level, .. } => {
            Some((level.above_middle_mm(size_mm[1], depth), size_mm[1]))
        }
        Made::Notch { size_mm, .. } if size_mm[1] > depth => {
            return wrong(format!("the notch is deeper than {name}"), "");
        }
        Made::Notch { .. } => None,
    };
    if let Some((z, high)) = z
        && z.abs() - high / 2.0 > depth / 2.0
    {
        return wrong(
            format!("this lies above or below {name}, which is {depth:.0} mm deep"),
            "`up` counts from the underside to its middle, `down` from the top",
        );
    }
    Ok(x)
}

/// Line of a place in a text, from 1.
fn line_of(text: &str, at: usize) -> u64 {
    1 + text.get(..at.min(text.len())).unwrap_or_default().matches('\n').count() as u64
}
