//! A file opened as a model, and plain access to its instances.

mod attributes;
#[cfg(test)]
mod tests;

use crate::context::Context;
use crate::diagnostic::Diagnostics;
use crate::keywords::{Keyword, Keywords};
use crate::placement::Placements;
use crate::relation::Relations;
use crate::{Class, Diagnostic, Georeference, OpenError, Schema, Units, class, is_zip, material};
use std::sync::OnceLock;
use wimble_step::{Row, StepFile, Value};

/// An IFC model over the bytes of its file.
///
/// Opening reads the header, the units and the representation context; all else is read when it
/// is asked for. A model can be shared between threads.
#[derive(Debug)]
pub struct Model<'a> {
    step: StepFile<'a>,
    schema: Schema,
    schema_name: String,
    keywords: Keywords,
    diagnostics: Diagnostics,
    units: Units,
    context: Context,
    products: OnceLock<Vec<Row>>,
    georeference: OnceLock<Option<Georeference>>,
    pub(crate) relations: Relations,
    pub(crate) placements: Placements,
    pub(crate) materials: material::Known,
}

impl<'a> Model<'a> {
    /// Opens the bytes of an `.ifc` file. Damage to single records makes diagnostics, not errors.
    ///
    /// # Errors
    /// The bytes are not a STEP file, hold no instance, or follow no schema of IFC.
    pub fn open(bytes: &'a [u8]) -> Result<Self, OpenError> {
        if is_zip(bytes) {
            return Err(OpenError::Zip);
        }
        Self::of_step(StepFile::index(bytes)?)
    }

    /// Opens a file that is indexed already.
    ///
    /// # Errors
    /// As for [`Model::open`].
    pub fn of_step(step: StepFile<'a>) -> Result<Self, OpenError> {
        let schemas = &step.header().schemas;
        let chosen = schemas.iter().find_map(|name| Some((name, Schema::of_name(name)?)));
        let (schema_name, schema, exact) = match (chosen, schemas.first()) {
            (Some((name, (schema, exact))), _) => (name.trim().to_owned(), schema, exact),
            (None, Some(name)) => return Err(OpenError::UnknownSchema(name.clone())),
            (None, None) => return Err(OpenError::NoSchema),
        };
        if step.is_empty() {
            return Err(OpenError::NoInstances);
        }
        let keywords = Keywords::of(&step, schema);
        let mut model = Self {
            step,
            schema,
            schema_name,
            keywords,
            diagnostics: Diagnostics::default(),
            units: Units::default(),
            context: Context::default(),
            products: OnceLock::new(),
            georeference: OnceLock::new(),
            relations: Relations::default(),
            placements: Placements::default(),
            materials: material::Known::default(),
        };
        if !exact {
            model.note_file(format!("schema {} is read as {schema}", model.schema_name));
        }
        model.note_odd_keywords();
        let project = model.project();
        model.units = Units::read(&model, project);
        model.context = Context::read(&model, project);
        Ok(model)
    }

    /// Tells of keywords that the file's schema does not have.
    fn note_odd_keywords(&self) {
        for keyword in &self.keywords.unknown {
            let Some(first) = self.step.rows_of(keyword).first() else { continue };
            let possible = self.possible(keyword).count();
            let text = match possible {
                0 => format!("{keyword} is a class of no schema; it is left out"),
                _ => format!("{keyword} is a class of no schema; {possible} of it may be elements"),
            };
            self.note(*first, text);
        }
        for keyword in &self.keywords.foreign {
            if let Some(first) = self.step.rows_of(keyword).first() {
                let schema = self.schema;
                let text = format!(
                    "{keyword} is not a class of {schema}; it is read as in the schema that has it"
                );
                self.note(*first, text);
            }
        }
    }

    /// The file's records.
    #[must_use]
    pub fn step(&self) -> &StepFile<'a> {
        &self.step
    }

    /// The schema that the file is read by.
    #[must_use]
    pub fn schema(&self) -> Schema {
        self.schema
    }

    /// The schema as the file's header names it.
    #[must_use]
    pub fn schema_name(&self) -> &str {
        &self.schema_name
    }

    /// The project's units.
    #[must_use]
    pub fn units(&self) -> &Units {
        &self.units
    }

    /// The representation context that placements end in.
    pub(crate) fn context(&self) -> &Context {
        &self.context
    }

    /// Where the model lies on a map, if it says so. For reports only: measuring never needs it.
    #[must_use]
    pub fn georeference(&self) -> Option<&Georeference> {
        self.georeference.get_or_init(|| Georeference::read(self)).as_ref()
    }

    /// The odd things met so far, by line. Faults of the file itself are
    /// [`StepFile::diagnostics`].
    #[must_use]
    pub fn diagnostics(&self) -> Vec<Diagnostic> {
        let mut all = self.diagnostics.all();
        if let Some((count, row, why)) = self.diagnostics.odd_texts() {
            let name = self.step.name(row);
            let more = match count {
                1 => String::new(),
                2 => "; 1 more instance has such texts".to_owned(),
                count => format!("; {} more instances have such texts", count - 1),
            };
            let text = format!("#{name}: in a text: {why}{more}");
            all.push(Diagnostic { line: Some(self.step.line(row)), instance: Some(name), text });
            all.sort();
        }
        all
    }

    /// Adds a diagnostic about an instance, named if its text does not name it.
    pub(crate) fn note(&self, row: Row, text: impl Into<String>) {
        let name = self.step.name(row);
        let mut text: String = text.into();
        if !text.contains(&format!(" #{name} ")) {
            text.insert_str(0, &format!("#{name}: "));
        }
        let line = Some(self.step.line(row));
        self.diagnostics.add(Diagnostic { line, instance: Some(name), text });
    }

    /// Adds a diagnostic about the file as a whole.
    pub(crate) fn note_file(&self, text: impl Into<String>) {
        self.diagnostics.add(Diagnostic { line: None, instance: None, text: text.into() });
    }

    /// The class of an instance; `None` if no schema has its keyword.
    #[must_use]
    pub fn class(&self, row: Row) -> Option<Class> {
        self.keyword(row).map(|keyword| keyword.class)
    }

    /// Whether an instance is of a class or one below it.
    #[must_use]
    pub fn is_a(&self, row: Row, class: Class) -> bool {
        self.class(row).is_some_and(|own| own.is_a(class))
    }

    pub(crate) fn keyword(&self, row: Row) -> Option<&Keyword> {
        self.keywords.of_row(&self.step, row)
    }

    /// All instances of a class and of those below it, in file order.
    #[must_use]
    pub fn rows_of_class(&self, class: Class) -> Vec<Row> {
        let keywords = self.keywords.below(class);
        let mut rows: Vec<Row> =
            keywords.iter().flat_map(|keyword| self.step.rows_of(keyword)).copied().collect();
        if keywords.len() > 1 {
            rows.sort_unstable();
        }
        rows
    }

    /// Every instance of any subtype of `IfcProduct`, in file order: elements, but also spatial
    /// elements, openings, ports, grids and annotations.
    #[must_use]
    pub fn products(&self) -> &[Row] {
        self.products.get_or_init(|| self.rows_of_class(class!("IfcProduct")))
    }

    /// Every instance whose keyword no schema has and that may be a product by its layout, in file
    /// order: it begins with a text and has a placement and a shape, or `$`, where products do.
    #[must_use]
    pub fn unclassed(&self) -> Vec<Row> {
        let unknown = self.keywords.unknown.iter();
        let mut rows: Vec<Row> = unknown.flat_map(|keyword| self.possible(keyword)).collect();
        rows.sort_unstable();
        rows
    }

    /// The instances of an unknown keyword that may be products.
    fn possible(&self, keyword: &str) -> impl Iterator<Item = Row> {
        self.step.rows_of(keyword).iter().copied().filter(|row| {
            let record = self.step.record(*row);
            let open = |place| matches!(record.get(place), Value::Unset | Value::Reference(_));
            matches!(record.get(0), Value::Text(_)) && record.len() > 6 && open(5) && open(6)
        })
    }

    /// The project: the first that assigns units, else the first.
    #[must_use]
    pub fn project(&self) -> Option<Row> {
        let projects = self.rows_of_class(class!("IfcProject"));
        let with_units =
            projects.iter().find(|row| self.reference(**row, "UnitsInContext").is_some());
        with_units.or(projects.first()).copied()
    }

    /// How an instance is named in messages: `IfcBeam #12`.
    pub(crate) fn label(&self, row: Row) -> String {
        let name = self.step.name(row);
        match self.class(row) {
            Some(class) => format!("{class} #{name}"),
            None => format!("{} #{name}", self.step.keyword(row)),
        }
    }
}
