//! Whether an element is timber: several kinds of evidence, never one alone.

use crate::candidate::{Candidate, Family};
use crate::sorting::names;
use crate::words::{Topic, Topics, topics};
use wimble_model::TimberMake;

/// What is said for and against an element being timber.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Evidence {
    /// For less against.
    pub(crate) score: i32,
    /// What speaks for it: each is a kind of evidence.
    pub(crate) for_it: Reasons,
    /// What speaks against it.
    pub(crate) against: Reasons,
    /// What its materials say.
    pub(crate) material: Topics,
    /// What its name, type and properties say.
    pub(crate) text: Topics,
    /// Whether any material is stated.
    pub(crate) has_material: bool,
}

/// A set of reasons, given in the order in which they are weighed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Reasons(u32);

/// Every reason, in words.
const WORDS: [&str; 17] = [
    "its material",
    "the species of its material",
    "the strength class of its material",
    "its properties",
    "the species in its properties",
    "its name",
    "the grade or species in its name",
    "the role that its name gives",
    CLASS,
    "its material says steel",
    "its material says concrete",
    "its material says masonry",
    "its name says steel",
    "its name says concrete",
    SHAPE,
    "its shape is a rolled steel section",
    "it is no stick",
];
const CLASS: &str = "its class";
const SHAPE: &str = "its shape";

impl Reasons {
    fn add(&mut self, what: &str) {
        let bits = WORDS.iter().zip(0u32..).filter(|(word, _)| **word == what);
        self.0 |= bits.map(|(_, bit)| 1 << bit).sum::<u32>();
    }

    /// In words.
    pub(crate) fn words(self) -> impl Iterator<Item = &'static str> {
        WORDS
            .into_iter()
            .zip(0u32..)
            .filter(move |(_, bit)| self.0 >> bit & 1 == 1)
            .map(|(word, _)| word)
    }

    /// In words, with something between them.
    pub(crate) fn joined(self, between: &str) -> String {
        self.words().collect::<Vec<_>>().join(between)
    }

    pub(crate) const fn is_empty(self) -> bool {
        self.0 == 0
    }

    const fn count(self) -> u32 {
        self.0.count_ones()
    }
}

/// Enough to call it timber.
const ENOUGH: i32 = 3;
/// So many kinds of evidence at least.
const KINDS: u32 = 2;

/// Role words that only timber members bear in practice.
const TIMBER_ROLES: [Topic; 5] =
    [Topic::Joist, Topic::Rafter, Topic::Stud, Topic::Packing, Topic::Engineered];

impl Evidence {
    /// What the words say; geometry is added by [`Evidence::with_shape`].
    pub(crate) fn of(candidate: &Candidate) -> Self {
        let mut evidence = Self {
            material: candidate.materials.topics(),
            text: names(candidate),
            has_material: !candidate.materials.entries.is_empty(),
            ..Self::default()
        };
        let properties = topics(&candidate.more().property_text);
        evidence.weigh(candidate, properties);
        evidence
    }

    fn weigh(&mut self, candidate: &Candidate, properties: Topics) {
        use Topic::{Concrete, Engineered, Glulam, Grade, Lvl, Masonry, Species, Steel, Timber};
        const WOOD: [Topic; 4] = [Timber, Glulam, Lvl, Engineered];
        let material = self.material;
        if material.has_any(&WOOD) {
            self.speaks_for(3, "its material");
        } else if material.has(Species) {
            self.speaks_for(2, "the species of its material");
        } else if material.has(Grade) && !material.has_any(&[Concrete, Steel]) {
            self.speaks_for(3, "the strength class of its material");
        }
        if properties.has_any(&WOOD) || properties.has(Grade) {
            self.speaks_for(2, "its properties");
        } else if properties.has(Species) {
            self.speaks_for(1, "the species in its properties");
        }
        if self.text.has_any(&WOOD) {
            self.speaks_for(2, "its name");
        } else if self.text.has_any(&[Grade, Species]) && !self.text.has_any(&[Steel, Concrete]) {
            self.speaks_for(2, "the grade or species in its name");
        } else if self.text.has_any(&TIMBER_ROLES) || candidate.of_type.predefined == "JOIST" {
            self.speaks_for(1, "the role that its name gives");
        }
        if matches!(candidate.family, Family::Beam | Family::Member | Family::Column) {
            self.speaks_for(1, CLASS);
        }
        // A timber name for a member with metal webs or hangers still says timber.
        if material.has(Steel) && !material.has_any(&WOOD) {
            self.speaks_against(4, "its material says steel");
        }
        if material.has(Concrete) && !material.has_any(&WOOD) {
            self.speaks_against(4, "its material says concrete");
        }
        if material.has(Masonry) && !material.has_any(&WOOD) {
            self.speaks_against(4, "its material says masonry");
        }
        if self.text.has(Steel) {
            let worth = if self.text.has_any(&WOOD) { 1 } else { 3 };
            self.speaks_against(worth, "its name says steel");
        }
        if self.text.has(Concrete) {
            self.speaks_against(2, "its name says concrete");
        }
    }

    fn speaks_for(&mut self, worth: i32, what: &'static str) {
        self.score += worth;
        self.for_it.add(what);
    }

    fn speaks_against(&mut self, worth: i32, what: &'static str) {
        self.score -= worth;
        self.against.add(what);
    }

    /// Adds what its shape says.
    #[must_use]
    pub(crate) fn with_shape(mut self, shape: ShapeHint) -> Self {
        match shape {
            ShapeHint::TimberStick => self.speaks_for(1, SHAPE),
            ShapeHint::RolledSteel => self.speaks_against(3, "its shape is a rolled steel section"),
            ShapeHint::NoStick => self.speaks_against(1, "it is no stick"),
        }
        self
    }

    /// Whether it is timber.
    pub(crate) fn is_timber(&self) -> bool {
        self.score >= ENOUGH && self.for_it.count() >= KINDS && self.speaks_of_timber()
    }

    /// Whether anything but class and shape speaks for timber.
    fn speaks_of_timber(&self) -> bool {
        self.for_it.words().any(|what| what != CLASS && what != SHAPE)
    }

    /// Whether evidence points both ways.
    pub(crate) fn is_contradictory(&self) -> bool {
        self.speaks_of_timber() && !self.against.is_empty()
    }

    /// Why it was not taken for timber, for a person.
    pub(crate) fn why_not(&self) -> String {
        if self.is_contradictory() {
            return format!(
                "not taken for timber: {}, though {} says timber; name it in the mapping if it is",
                self.against.joined(", "),
                self.for_it.words().find(|w| *w != CLASS).unwrap_or("its name"),
            );
        }
        if !self.against.is_empty() {
            return format!("not timber: {}", self.against.joined(", "));
        }
        if !self.has_material {
            return "not taken for timber: no material is stated and its name says nothing of it; \
                    name it in the mapping if it is"
                .to_owned();
        }
        "not timber: neither its material nor its name says so".to_owned()
    }

    /// Solid, glued or engineered.
    pub(crate) fn make(&self) -> TimberMake {
        let all = self.material.or(self.text);
        if all.has(Topic::Engineered) {
            TimberMake::Engineered
        } else if all.has(Topic::Glulam) {
            TimberMake::Glulam
        } else if all.has(Topic::Lvl) {
            TimberMake::Lvl
        } else if all.has(Topic::Panel) {
            TimberMake::Panel
        } else if all.has_any(&[Topic::Grade, Topic::Species]) {
            TimberMake::Solid
        } else {
            TimberMake::NotStated
        }
    }
}

/// What the shape of an element says of its material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ShapeHint {
    /// A stick of the breadth and depth that timber comes in.
    TimberStick,
    /// Thin flanges and web, or a hollow bar.
    RolledSteel,
    /// A plate, a block, a body of any other form.
    NoStick,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::candidate::{Material, Materials};
    use wimble_model::Element;

    fn of(family: Family, name: &str, material: &str) -> Evidence {
        let entries = if material.is_empty() {
            Vec::new()
        } else {
            vec![Material { name: material.into(), ..Material::default() }]
        };
        Evidence::of(&Candidate {
            family,
            element: Element { name: Some(name.into()), ..Element::default() },
            materials: Materials::new(false, entries).into(),
            ..Candidate::default()
        })
    }

    #[test]
    fn a_timber_material_and_a_stick_are_enough() {
        assert!(of(Family::Beam, "B1", "hout").with_shape(ShapeHint::TimberStick).is_timber());
        assert!(of(Family::Proxy, "P1", "C24").with_shape(ShapeHint::TimberStick).is_timber());
    }

    #[test]
    fn a_class_and_a_shape_are_not() {
        assert!(!of(Family::Beam, "B1", "").with_shape(ShapeHint::TimberStick).is_timber());
        assert!(!of(Family::Beam, "Balken", "").with_shape(ShapeHint::TimberStick).is_timber());
    }

    #[test]
    fn a_joist_by_name_without_material_is_taken() {
        assert!(of(Family::Beam, "Floor joist", "").with_shape(ShapeHint::TimberStick).is_timber());
    }

    #[test]
    fn steel_is_never_taken_for_timber() {
        let beam = of(Family::Beam, "CL_28_stalen_balk_HEB:HE220B", "staal");
        assert!(!beam.with_shape(ShapeHint::RolledSteel).is_timber());
        let joist = of(Family::Beam, "Joist HEA200", "S235");
        assert!(!joist.with_shape(ShapeHint::RolledSteel).is_timber());
    }

    #[test]
    fn contradictory_evidence_is_told() {
        let post = of(Family::Column, "houten kolom 71x171", "staal");
        let post = post.with_shape(ShapeHint::TimberStick);
        assert!(!post.is_timber() && post.is_contradictory());
        assert!(post.why_not().contains("though"), "{}", post.why_not());
    }
}
