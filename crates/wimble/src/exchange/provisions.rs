//! The voids that the services ask for, as provision-for-void objects in a file of their own.
//!
//! Whoever owns the structure loads it beside their model and makes the voids. It follows the
//! schema of the structure and lies in the same world; each provision stands on its storey.

use super::added::{Added, list, text, to, word};
use super::guid::guid;
use super::void::{Outline, Void, purpose};
use super::{NewFile, owner, wanted};
use crate::stamp;
use anyhow::{Result, bail};
use glam::{DAffine3, DVec3};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use wimble_ifc::Schema;
use wimble_model::Cut;
use wimble_report::{Names, Report};
use wimble_step::{NewValue, encode_text};

/// One provision.
struct Asked<'a> {
    cut: &'a Cut,
    id: &'a str,
    void: Void,
}

/// The file of provisions.
pub(crate) fn provisions(report: &Report) -> Result<NewFile> {
    let names = Names::of(report);
    let asked: Vec<Asked<'_>> = report
        .cuts
        .iter()
        .zip(&names.cuts)
        .filter(|(cut, _)| wanted(report, cut))
        .filter_map(|(cut, id)| Some(Asked { cut, id, void: Void::of(report, cut)? }))
        .collect();
    let schema = schema(report, &asked)?;
    let seconds = stamp::seconds()?.unwrap_or(0);
    let mut file = File::new(schema, report, seconds);
    file.fill(report, &asked);
    let bytes = file.written(schema, seconds)?.into_bytes();
    Ok(NewFile { of: None, bytes, remarks: Vec::new() })
}

/// The schema of the file that holds the structure: of the first void, else of the first member.
fn schema(report: &Report, asked: &[Asked<'_>]) -> Result<Schema> {
    let first = asked.first().and_then(|asked| report.members.get(asked.cut.member.at()));
    let Some(member) = first.or(report.members.first()) else {
        bail!("there is no member in any of the models, so no void can be asked for");
    };
    let input = report.inputs.get(member.element.input as usize);
    Ok(input.and_then(|input| Schema::of_name(&input.schema)).map_or(Schema::Ifc4, |(s, _)| s))
}

struct File {
    added: Added,
    schema: Schema,
    owner: NewValue,
    /// What GlobalIds are made unique by: the inputs that the voids are asked for.
    space: String,
    body: u64,
    project: u64,
}

const UNSET: NewValue = NewValue::Unset;

impl File {
    /// The head of the model: units in millimetres, contexts, project.
    fn new(schema: Schema, report: &Report, seconds: i64) -> Self {
        let mut added = Added::after(0, 0.001);
        let owner = owner::new(schema, &mut added, seconds);
        let space: Vec<&str> = report.inputs.iter().map(|input| input.blake3.as_str()).collect();
        let space = space.join("/");
        let si = |kind: &str, prefix: NewValue, name: &str| {
            vec![NewValue::Derived, word(kind), prefix, word(name)]
        };
        let length = added.add("IFCSIUNIT", si("LENGTHUNIT", word("MILLI"), "METRE"));
        let angle = added.add("IFCSIUNIT", si("PLANEANGLEUNIT", UNSET, "RADIAN"));
        let units = added.add("IFCUNITASSIGNMENT", vec![list([to(length), to(angle)])]);
        let origin = added.point(DVec3::ZERO);
        let world = added.add("IFCAXIS2PLACEMENT3D", vec![to(origin), UNSET, UNSET]);
        let three = NewValue::Integer(3);
        let model = added.add(
            "IFCGEOMETRICREPRESENTATIONCONTEXT",
            vec![UNSET, text("Model"), three, NewValue::Real(1e-5), to(world), UNSET],
        );
        let mut body = vec![text("Body"), text("Model")];
        body.extend(std::iter::repeat_n(NewValue::Derived, 4));
        body.extend([to(model), UNSET, word("MODEL_VIEW"), UNSET]);
        let body = added.add("IFCGEOMETRICREPRESENTATIONSUBCONTEXT", body);
        let mut file = Self { added, schema, owner, space, body, project: 0 };
        let mut project = file.root("project", "", "Provisions for void");
        project.extend([UNSET, UNSET, UNSET, list([to(model)]), to(units)]);
        file.project = file.added.add("IFCPROJECT", project);
        file
    }

    /// GlobalId, owner history, name, description.
    fn root(&self, kind: &str, of: &str, name: &str) -> Vec<NewValue> {
        let id = guid(kind, &format!("{}/{of}", self.space));
        vec![text(&id), self.owner.clone(), text(name), UNSET]
    }

    /// A relation from a whole to its parts, or from a storey to what it contains.
    fn relate(&mut self, keyword: &str, of: &str, first: NewValue, second: NewValue) {
        let id = guid(keyword, &format!("{}/{of}", self.space));
        let values = vec![text(&id), self.owner.clone(), UNSET, UNSET, first, second];
        self.added.add(keyword, values);
    }

    fn aggregate(&mut self, of: &str, whole: u64, parts: &[u64]) {
        let parts = list(parts.iter().copied().map(to));
        self.relate("IFCRELAGGREGATES", of, to(whole), parts);
    }

    /// Site, building, the storeys that voids are asked for on, and the voids.
    fn fill(&mut self, report: &Report, asked: &[Asked<'_>]) {
        let site_at = self.added.placement(None, DVec3::ZERO, None);
        let mut site = self.root("site", "", "Site");
        site.extend([UNSET, to(site_at), UNSET, UNSET, word("ELEMENT")]);
        site.extend(std::iter::repeat_n(UNSET, 5));
        let site = self.added.add("IFCSITE", site);
        let building_at = self.added.placement(Some(site_at), DVec3::ZERO, None);
        let mut building = self.root("building", "", "Building");
        building.extend([UNSET, to(building_at), UNSET, UNSET, word("ELEMENT")]);
        building.extend(std::iter::repeat_n(UNSET, 3));
        let building = self.added.add("IFCBUILDING", building);
        self.aggregate("project", self.project, &[site]);
        self.aggregate("site", site, &[building]);

        let mut by_storey: BTreeMap<(bool, Option<u32>), Vec<&Asked<'_>>> = BTreeMap::new();
        for asked in asked {
            let storey = report.members.get(asked.cut.member.at()).and_then(|m| m.storey);
            by_storey.entry((storey.is_none(), storey)).or_default().push(asked);
        }
        let mut storeys = Vec::new();
        for ((_, at), asked) in by_storey {
            storeys.push(self.storey(report, at, building_at, &asked));
        }
        // A building without storeys is no whole.
        if !storeys.is_empty() {
            self.aggregate("building", building, &storeys);
        }
    }

    fn storey(
        &mut self,
        report: &Report,
        at: Option<u32>,
        building_at: u64,
        asked: &[&Asked<'_>],
    ) -> u64 {
        let known = at.and_then(|at| report.storeys.get(at as usize));
        let name = known.map_or("On no storey", |storey| storey.name.as_str());
        let elevation_m = known.and_then(|storey| storey.elevation_m);
        let level = DVec3::new(0.0, 0.0, elevation_m.unwrap_or(0.0));
        let of = at.map_or_else(|| "none".to_owned(), |at| at.to_string());
        let place = self.added.placement(Some(building_at), level, None);
        let mut storey = self.root("storey", &of, name);
        let elevation = elevation_m.map_or(UNSET, |metres| self.added.metres(metres));
        storey.extend([UNSET, to(place), UNSET, UNSET, word("ELEMENT"), elevation]);
        let storey = self.added.add("IFCBUILDINGSTOREY", storey);
        let into = DAffine3::from_translation(-level);
        let provisions: Vec<NewValue> =
            asked.iter().map(|asked| to(self.provision(report, asked, &into, place))).collect();
        let contained = "IFCRELCONTAINEDINSPATIALSTRUCTURE";
        self.relate(contained, &of, list(provisions), to(storey));
        storey
    }

    /// The object, with the properties that its schema gives to provisions.
    fn provision(&mut self, report: &Report, asked: &Asked<'_>, into: &DAffine3, on: u64) -> u64 {
        let (placement, shape) = self.added.void(&asked.void, into, Some(on), self.body);
        let mut values = vec![
            text(&guid("provision", asked.id)),
            self.owner.clone(),
            text(&purpose(report, asked.cut)),
            UNSET,
        ];
        let (keyword, object_type, last) = match self.schema {
            Schema::Ifc2x3 => ("IFCBUILDINGELEMENTPROXY", text("ProvisionForVoid"), UNSET),
            Schema::Ifc4 => ("IFCBUILDINGELEMENTPROXY", UNSET, word("PROVISIONFORVOID")),
            Schema::Ifc4x3 => ("IFCVIRTUALELEMENT", UNSET, word("PROVISIONFORVOID")),
        };
        values.extend([object_type, to(placement), to(shape), UNSET, last]);
        let provision = self.added.add(keyword, values);
        self.properties(report, asked, provision);
        provision
    }

    fn properties(&mut self, report: &Report, asked: &Asked<'_>, provision: u64) {
        let (set, shape) = match self.schema {
            Schema::Ifc4x3 => ("Pset_ProvisionForVoid", "VoidShape"),
            _ => ("Pset_BuildingElementProxyProvisionForVoid", "Shape"),
        };
        let label = |value: &str| NewValue::Typed("IFCLABEL".into(), Box::new(text(value)));
        let length = |added: &Added, mm: f64| {
            NewValue::Typed("IFCPOSITIVELENGTHMEASURE".into(), Box::new(added.length(mm)))
        };
        let mut pairs: Vec<(&str, NewValue)> = Vec::new();
        match asked.void.outline {
            Outline::Round { diameter_mm } => {
                pairs.push((shape, label("Round")));
                pairs.push(("Diameter", length(&self.added, diameter_mm)));
            }
            Outline::Rectangle { x_mm, y_mm } => {
                pairs.push((shape, label("Rectangle")));
                pairs.push(("Width", length(&self.added, x_mm)));
                pairs.push(("Height", length(&self.added, y_mm)));
            }
        }
        pairs.push(("Depth", length(&self.added, asked.void.depth_mm)));
        let service = asked.cut.services.first().and_then(|s| report.services.get(s.at()));
        if let Some(system) = service.and_then(|service| service.system.as_deref()) {
            pairs.push(("System", label(system)));
        }
        let properties: Vec<NewValue> = pairs
            .into_iter()
            .map(|(name, value)| {
                let values = vec![text(name), UNSET, value, UNSET];
                to(self.added.add("IFCPROPERTYSINGLEVALUE", values))
            })
            .collect();
        let mut values = vec![text(&guid("set", asked.id)), self.owner.clone(), text(set), UNSET];
        values.push(list(properties));
        let set = self.added.add("IFCPROPERTYSET", values);
        self.relate("IFCRELDEFINESBYPROPERTIES", asked.id, list([to(provision)]), to(set));
    }

    fn written(&self, schema: Schema, seconds: i64) -> Result<String> {
        let name = match schema {
            Schema::Ifc2x3 => "IFC2X3",
            Schema::Ifc4 => "IFC4",
            Schema::Ifc4x3 => "IFC4X3_ADD2",
        };
        let tool = encode_text(concat!("wimble ", env!("CARGO_PKG_VERSION")));
        let time = stamp::spelt(seconds);
        let mut file = format!(
            "ISO-10303-21;\nHEADER;\n\
             FILE_DESCRIPTION(('provisions for void'),'2;1');\n\
             FILE_NAME('','{time}',(''),(''),{tool},{tool},'');\n\
             FILE_SCHEMA(('{name}'));\nENDSEC;\nDATA;\n"
        );
        for instance in &self.added.instances {
            // Writing into a String cannot fail.
            let _ = writeln!(file, "{}", instance.to_text()?);
        }
        file.push_str("ENDSEC;\nEND-ISO-10303-21;\n");
        Ok(file)
    }
}
