//! What a word can speak of.

macro_rules! topics {
    ($($(#[$doc:meta])* $name:ident = $word:literal,)*) => {
        /// What a word can speak of; each is a list of the vocabulary.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(crate) enum Topic { $($(#[$doc])* $name,)* }

        impl Topic {
            /// The topic whose list has this name in the vocabulary.
            pub(crate) fn named(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$name),)* _ => None }
            }
        }
    };
}

topics! {
    Timber = "timber", Glulam = "glulam", Lvl = "lvl", Panel = "panel", Engineered = "engineered",
    Species = "species", Grade = "grade", Steel = "steel", Concrete = "concrete", Masonry = "masonry",
    Finish = "finish", Insulation = "insulation",
    Joist = "joist", Beam = "beam", Rafter = "rafter", Stud = "stud", Post = "post", Plate = "plate",
    Blocking = "blocking", Trimmer = "trimmer", Rim = "rim", Lintel = "lintel", Truss = "truss",
    Chord = "chord", Packing = "packing", Hanger = "hanger",
    Floor = "floor", FlatRoof = "flat_roof", Roof = "roof", Ceiling = "ceiling",
    Partition = "partition", Vessel = "vessel", Bath = "bath", Provision = "provision",
    Void = "void", Gutter = "gutter",
    Pipe = "pipe", Duct = "duct", Cable = "cable", Carrier = "carrier",
    Soil = "soil", Waste = "waste", Flue = "flue", Gas = "gas", Air = "air", Heating = "heating",
    Water = "water", Chilled = "chilled", Electric = "electric",
    MetalPipe = "metal_pipe", PlasticPipe = "plastic_pipe", PushFit = "push_fit",
    Solvent = "solvent", Flexible = "flexible",
}

/// A set of topics.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Topics(u64);

impl Topics {
    /// Speaks of nothing known.
    pub(crate) const NONE: Self = Self(0);

    /// This set and one more topic.
    pub(crate) const fn with(self, topic: Topic) -> Self {
        Self(self.0 | 1 << topic as u64)
    }

    /// Both sets.
    pub(crate) const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether it holds a topic.
    pub(crate) const fn has(self, topic: Topic) -> bool {
        self.0 & (1 << topic as u64) != 0
    }

    /// Whether it holds any of these.
    pub(crate) fn has_any(self, topics: &[Topic]) -> bool {
        topics.iter().any(|&topic| self.has(topic))
    }
}
