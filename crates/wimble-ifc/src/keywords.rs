//! What the keywords of a file mean.

use crate::{Class, Schema};
use wimble_step::{Row, StepFile};

/// A keyword's class and where its attributes stand.
#[derive(Debug)]
pub(crate) struct Keyword {
    pub(crate) class: Class,
    /// Names of the attributes, in the order of the file.
    attributes: Vec<&'static str>,
    /// Positions of the attributes that are read of every product.
    pub(crate) object_type: Option<usize>,
    pub(crate) tag: Option<usize>,
    pub(crate) predefined_type: Option<usize>,
    pub(crate) placement: Option<usize>,
}

impl Keyword {
    fn new(class: Class, schema: Schema) -> Self {
        let all = class.attributes(home(class, schema));
        let attributes: Vec<&'static str> = all.iter().map(|attribute| attribute.name).collect();
        let position = |name| attributes.iter().position(|attribute| *attribute == name);
        Self {
            class,
            // Types call it ElementType, or ProcessType, ResourceType.
            object_type: position("ObjectType").or_else(|| position("ElementType")),
            tag: position("Tag"),
            predefined_type: position("PredefinedType"),
            placement: position("ObjectPlacement"),
            attributes,
        }
    }

    pub(crate) fn position(&self, attribute: &str) -> Option<usize> {
        self.attributes.iter().position(|name| *name == attribute)
    }

    pub(crate) fn attributes(&self) -> &[&'static str] {
        &self.attributes
    }
}

/// The schema whose layout a class is read by: the file's own, or, where that has no such class,
/// the nearest that has. Files that name a wrong schema exist.
fn home(class: Class, schema: Schema) -> Schema {
    let others = match schema {
        Schema::Ifc2x3 => [Schema::Ifc4, Schema::Ifc4x3],
        Schema::Ifc4 => [Schema::Ifc4x3, Schema::Ifc2x3],
        Schema::Ifc4x3 => [Schema::Ifc4, Schema::Ifc2x3],
    };
    if class.is_in(schema) {
        return schema;
    }
    others.into_iter().find(|&other| class.is_in(other)).unwrap_or(schema)
}

/// The keywords of one file.
#[derive(Debug)]
pub(crate) struct Keywords {
    /// By their number in the file, with their names.
    known: Vec<Option<(Box<str>, Keyword)>>,
    /// Keywords of no schema, in the order of the file's list.
    pub(crate) unknown: Vec<Box<str>>,
    /// Keywords of another schema than the file's.
    pub(crate) foreign: Vec<Box<str>>,
}

impl Keywords {
    pub(crate) fn of(step: &StepFile<'_>, schema: Schema) -> Self {
        let mut made = Self { known: vec![], unknown: vec![], foreign: vec![] };
        for keyword in step.words() {
            let class = Class::of_keyword(keyword);
            match class {
                Some(class) if !class.is_in(schema) => made.foreign.push(keyword.into()),
                None if !keyword.is_empty() => made.unknown.push(keyword.into()),
                _ => {}
            }
            made.known.push(class.map(|class| (keyword.into(), Keyword::new(class, schema))));
        }
        made
    }

    /// The keyword of an instance, if a schema has it.
    pub(crate) fn of_row(&self, step: &StepFile<'_>, row: Row) -> Option<&Keyword> {
        self.known.get(step.word(row))?.as_ref().map(|(_, keyword)| keyword)
    }

    /// The file's keywords whose class is `class` or descends from it, in alphabetical order.
    pub(crate) fn below(&self, class: Class) -> Vec<&str> {
        let mut found: Vec<&str> = self
            .known
            .iter()
            .flatten()
            .filter(|(_, keyword)| keyword.class.is_a(class))
            .map(|(name, _)| &**name)
            .collect();
        found.sort_unstable();
        found
    }
}
