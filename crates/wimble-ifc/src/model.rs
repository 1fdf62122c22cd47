//! A file opened as a model, and plain access to its instances.

use crate::context::Context;
use crate::diagnostic::Diagnostics;
use crate::keywords::{Keyword, Keywords};
use crate::placement::Placements;
use crate::relation::Relations;
use crate::{Class, Diagnostic, Georeference, OpenError, Schema, Units, class, is_zip};
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
                self.note(*first, format!("{keyword} is not a class of {schema}; it is read as in the schema that has it"));
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
        self.diagnostics.all()
    }

    /// Adds a diagnostic about an instance.
    pub(crate) fn note(&self, row: Row, text: impl Into<String>) {
        let name = self.step.name(row);
        let text = format!("#{name}: {}", text.into());
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
        self.keywords.get(self.step.keyword(row))
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

    /// Position of an attribute in an instance's record.
    #[must_use]
    pub fn position(&self, row: Row, attribute: &str) -> Option<usize> {
        self.keyword(row)?.position(attribute)
    }

    /// An attribute by the name that the schema gives it; unset where the class has no such
    /// attribute.
    #[must_use]
    pub fn attribute(&self, row: Row, attribute: &str) -> Value<'_> {
        let Some(position) = self.position(row, attribute) else { return Value::Unset };
        self.step.record(row).get(position)
    }

    /// An attribute's text, decoded; `None` if unset, blank or not a text.
    #[must_use]
    pub fn text(&self, row: Row, attribute: &str) -> Option<String> {
        text_of(self.attribute(row, attribute))
    }

    /// An attribute's number; a typed value gives what it holds.
    #[must_use]
    pub fn number(&self, row: Row, attribute: &str) -> Option<f64> {
        self.attribute(row, attribute).number()
    }

    /// The numbers of an attribute's list.
    #[must_use]
    pub fn numbers(&self, row: Row, attribute: &str) -> Vec<f64> {
        self.attribute(row, attribute)
            .list()
            .map(|list| list.numbers().collect())
            .unwrap_or_default()
    }

    /// An attribute that is true or false.
    #[must_use]
    pub fn boolean(&self, row: Row, attribute: &str) -> Option<bool> {
        self.attribute(row, attribute).boolean()
    }

    /// An attribute's enumeration in capitals, without its dots.
    #[must_use]
    pub fn enumeration(&self, row: Row, attribute: &str) -> Option<String> {
        self.attribute(row, attribute).enumeration().map(str::to_ascii_uppercase)
    }

    /// The instance that an attribute refers to; a reference to nothing makes a diagnostic.
    #[must_use]
    pub fn reference(&self, row: Row, attribute: &str) -> Option<Row> {
        self.follow(row, self.attribute(row, attribute).reference()?)
    }

    /// The instances in an attribute's list; a single reference counts as a list of one.
    #[must_use]
    pub fn references(&self, row: Row, attribute: &str) -> Vec<Row> {
        let mut found = Vec::new();
        self.gather(row, self.attribute(row, attribute), &mut found);
        found
    }

    pub(crate) fn text_at(&self, row: Row, position: usize) -> Option<String> {
        text_of(self.step.record(row).get(position))
    }

    pub(crate) fn references_at(&self, row: Row, position: usize) -> Vec<Row> {
        let mut found = Vec::new();
        self.gather(row, self.step.record(row).get(position), &mut found);
        found
    }

    /// All references in a value, inside typed values and lists too.
    pub(crate) fn gather(&self, row: Row, value: Value<'_>, into: &mut Vec<Row>) {
        match value.untyped() {
            Value::Reference(name) => into.extend(self.follow(row, name)),
            Value::List(list) => {
                for item in list.iter() {
                    self.gather(row, item, into);
                }
            }
            _ => {}
        }
    }

    /// The row of an instance name that `row` refers to.
    pub(crate) fn follow(&self, row: Row, name: u64) -> Option<Row> {
        let found = self.step.find(name);
        if found.is_none() {
            let keyword = self.step.keyword(row);
            self.note(row, format!("{keyword} refers to #{name}, which the file does not have"));
        }
        found
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

/// A text that says something.
fn text_of(value: Value<'_>) -> Option<String> {
    let text = value.text()?;
    (!text.trim().is_empty()).then(|| text.into_owned())
}

#[cfg(test)]
mod tests {
    use crate::testing::{file, open, row, told};
    use crate::{Model, OpenError, Schema};
    use wimble_step::NotStep;

    #[test]
    fn what_is_no_model_is_refused_with_what_to_do() {
        let refused = |bytes: &[u8]| Model::open(bytes).err().map(|error| error.to_string());
        assert!(matches!(Model::open(b" \n"), Err(OpenError::NotStep(NotStep::Empty))));
        assert!(
            refused(b"%PDF-1.4 something else").is_some_and(|told| told.contains("not a STEP"))
        );
        assert!(refused(b"PK\x03\x04xx").is_some_and(|told| told.contains("zip archive")));
        let told = refused(&file("AP214", "#1=POINT(1);")).expect("refused");
        assert!(told.contains("schema AP214; wimble reads IFC2X3"), "{told}");
        let none = b"ISO-10303-21;HEADER;ENDSEC;DATA;#1=IFCBEAM();ENDSEC;END-ISO-10303-21;";
        assert!(refused(none).is_some_and(|told| told.contains("names no schema")));
        assert!(refused(&file("IFC4", "")).is_some_and(|told| told.contains("no instances")));
    }

    #[test]
    fn a_draft_schema_is_read_as_the_nearest_with_a_remark() {
        let bytes = file("IFC4X3_RC2", "#1=IFCBEAM('b',$,$,$,$,$,$,$,$);");
        let model = open(&bytes);
        assert_eq!((model.schema(), model.schema_name()), (Schema::Ifc4x3, "IFC4X3_RC2"));
        assert!(told(&model).contains("schema IFC4X3_RC2 is read as IFC4X3"));
    }

    #[test]
    fn a_class_of_another_schema_is_read_as_there() {
        let bytes = file("IFC2X3", "#1=IFCPIPESEGMENT('b',$,$,$,$,$,$,'T1',.RIGIDSEGMENT.);");
        let model = open(&bytes);
        let root = model.root(row(&model, 1));
        assert_eq!(root.predefined_type.as_deref(), Some("RIGIDSEGMENT"));
        assert_eq!(model.products(), [row(&model, 1)]);
        assert!(told(&model).contains("IFCPIPESEGMENT is not a class of IFC2X3"));
    }

    #[test]
    fn unknown_classes_that_may_be_products_are_listed() {
        let data = "#1=IFCGIRDER('g',$,$,$,$,$,#9,$);#2=IFCCURVETHING((1.,2.),#9);
            #3=IFCNOTE('n',$,$,$,'text','text','text');";
        let bytes = file("IFC4", data);
        let model = open(&bytes);
        assert!(model.products().is_empty());
        assert_eq!(model.unclassed(), [row(&model, 1)]);
        let told = told(&model);
        assert!(
            told.contains("IFCGIRDER is a class of no schema; 1 of it may be elements"),
            "{told}"
        );
        assert!(told.contains("IFCCURVETHING is a class of no schema; it is left out"), "{told}");
    }

    #[test]
    fn the_predefined_type_is_the_occurrences_else_the_types_and_user_defined_is_spelt_out() {
        let types = "#1=IFCBEAMTYPE('t',$,'47x220',$,$,$,$,$,'Trimmer joist',.USERDEFINED.);
            #2=IFCBEAM('a',$,$,$,$,$,$,$,.NOTDEFINED.);#3=IFCBEAM('b',$,$,$,'Rim',$,$,$,.USERDEFINED.);
            #4=IFCBEAM('c',$,$,$,$,$,$,$,.LINTEL.);#5=IFCRELDEFINESBYTYPE('x',$,$,$,(#2,#3,#4),#1);";
        let bytes = file("IFC4", types);
        let model = open(&bytes);
        let kind = |name| model.root(row(&model, name)).predefined_type.unwrap_or_default();
        assert_eq!([kind(2), kind(3), kind(4)], ["Trimmer joist", "Rim", "LINTEL"]);
        let root = model.root(row(&model, 2));
        assert_eq!(root.type_name.as_deref(), Some("47x220"));
        assert_eq!(model.occurrences(row(&model, 1)).len(), 3);
    }
}
