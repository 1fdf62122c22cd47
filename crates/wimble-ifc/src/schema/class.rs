//! Classes, whatever their schema.

use super::generated::{ANCESTOR_ENDS, ANCESTORS, CLASSES};
use std::fmt;

/// A class of IFC. One value stands for the class of that name in all schemas that have it.
///
/// Classes that the code names are written `class!("IfcBeam")`: a name that no schema has does
/// not compile.
///
/// ```
/// use wimble_ifc::{Class, class};
///
/// let stud = Class::of_keyword("IFCMEMBERSTANDARDCASE").ok_or("no such class")?;
/// assert_eq!(stud.name(), "IfcMemberStandardCase");
/// assert!(stud.is_a(class!("IfcMember")) && stud.is_a(class!("IfcProduct")));
/// assert!(!stud.is_a(class!("IfcBeam")));
/// # Ok::<(), &str>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class(u16);

impl Class {
    /// The class of a name in any letter case: a keyword of a file, or as the schema spells it.
    #[must_use]
    pub const fn of_keyword(name: &str) -> Option<Self> {
        let name = name.as_bytes();
        let (mut low, mut high) = (0, CLASSES.len());
        while low < high {
            let middle = usize::midpoint(low, high);
            match compare(CLASSES[middle].as_bytes(), name) {
                0 => return Some(Self(middle as u16)),
                order if order < 0 => low = middle + 1,
                _ => high = middle,
            }
        }
        None
    }

    /// Every class of the three schemas, by name.
    pub fn all() -> impl Iterator<Item = Self> {
        (0u16..).take(CLASSES.len()).map(Self)
    }

    /// As the schema spells it.
    #[must_use]
    pub fn name(self) -> &'static str {
        CLASSES.get(usize::from(self.0)).copied().unwrap_or("")
    }

    /// Whether this is `other` or descends from it, in any of the schemas: a caller may name the
    /// class of whichever schema it knows (`IfcBuildingElement` holds for a wall of IFC4X3, where
    /// that parent is called `IfcBuiltElement`).
    #[must_use]
    pub fn is_a(self, other: Self) -> bool {
        self == other || self.ancestors().any(|ancestor| ancestor == other)
    }

    /// All ancestors in any schema, nearest first.
    pub fn ancestors(self) -> impl Iterator<Item = Self> {
        let place = usize::from(self.0);
        let end = ANCESTOR_ENDS.get(place).copied().unwrap_or(0);
        let before = place.checked_sub(1).and_then(|place| ANCESTOR_ENDS.get(place));
        let start = before.copied().unwrap_or(0);
        let range = usize::from(start)..usize::from(end);
        ANCESTORS.get(range).unwrap_or(&[]).iter().copied().map(Self)
    }

    pub(super) const fn number(self) -> u16 {
        self.0
    }
}

impl fmt::Debug for Class {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

impl fmt::Display for Class {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

/// Byte by byte in capitals; negative, zero or positive.
const fn compare(one: &[u8], other: &[u8]) -> i32 {
    let mut at = 0;
    while at < one.len() && at < other.len() {
        let difference =
            one[at].to_ascii_uppercase() as i32 - other[at].to_ascii_uppercase() as i32;
        if difference != 0 {
            return difference;
        }
        at += 1;
    }
    one.len() as i32 - other.len() as i32
}

/// The [`Class`] of a name that is written in the code. A name that no schema has does not
/// compile.
#[macro_export]
macro_rules! class {
    ($name:literal) => {
        const {
            match $crate::Class::of_keyword($name) {
                Some(class) => class,
                None => panic!(concat!("no schema has a class ", $name)),
            }
        }
    };
}
