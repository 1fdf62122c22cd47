//! Facts that a pack may ask for, and what it may ask of them.

use crate::expression::Length;
use wimble_model::{
    CutShape, DeckLoadKind, MemberKind, Place, Role, ServiceKind, TimberMake, Trade,
};

/// A fact of a member, of its place in the building, or of the services in a cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Fact {
    Kind,
    Section,
    Make,
    Place,
    Role,
    LoadBearing,
    Use,
    Load,
    WebsKnown,
    Depth,
    Breadth,
    Length,
    Span,
    Overhang,
    SpanToDepth,
    Spans,
    Shape,
    Trade,
    Service,
    Shared,
    SizeKnown,
}

/// What sort of value a fact has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sort {
    Words(&'static [&'static str]),
    YesNo,
    Length,
    Figure,
}

const FACTS: [(Fact, &str); 21] = [
    (Fact::Kind, "kind"),
    (Fact::Section, "section"),
    (Fact::Make, "make"),
    (Fact::Place, "place"),
    (Fact::Role, "role"),
    (Fact::LoadBearing, "load-bearing"),
    (Fact::Use, "use"),
    (Fact::Load, "load"),
    (Fact::WebsKnown, "webs-known"),
    (Fact::Depth, "depth"),
    (Fact::Breadth, "breadth"),
    (Fact::Length, "length"),
    (Fact::Span, "span"),
    (Fact::Overhang, "overhang"),
    (Fact::SpanToDepth, "span-to-depth"),
    (Fact::Spans, "spans"),
    (Fact::Shape, "shape"),
    (Fact::Trade, "trade"),
    (Fact::Service, "service"),
    (Fact::Shared, "shared"),
    (Fact::SizeKnown, "size-known"),
];

const KINDS: &[&str] = &[
    "joist",
    "beam",
    "rafter",
    "stud",
    "post",
    "plate",
    "blocking",
    "truss-part",
    "rim",
    "packing",
    "lintel",
    "unknown",
];
const SECTIONS: &[&str] = &["rectangle", "round", "i-joist", "open-web", "other", "unknown"];
const MAKES: &[&str] = &["solid", "glulam", "lvl", "panel", "engineered", "not-stated"];
const PLACES: &[&str] = &["floor", "flat-roof", "ceiling", "pitched-roof", "wall", "unknown"];
const ROLES: &[&str] = &["none", "ply", "trimming", "trimmer", "trimmed"];
const USES: &[&str] = &["domestic", "other"];
const LOADS: &[&str] = &["partition-along", "partition-across", "vessel", "bath"];
const SHAPES: &[&str] = &["round", "rectangular", "other"];
const TRADES: &[&str] =
    &["soil", "waste", "flue", "gas", "air", "heating", "water", "chilled", "electric", "unknown"];
const SERVICES: &[&str] = &["pipe", "duct", "cable", "carrier", "fitting", "terminal", "other"];

impl Fact {
    /// The fact of that name.
    pub(crate) fn named(name: &str) -> Option<Self> {
        FACTS.iter().find(|(_, word)| *word == name).map(|(fact, _)| *fact)
    }

    /// Its name in a pack.
    pub(crate) fn word(self) -> &'static str {
        FACTS.iter().find(|(fact, _)| *fact == self).map_or("", |(_, word)| word)
    }

    /// All names.
    pub(crate) fn names() -> Vec<&'static str> {
        FACTS.iter().map(|(_, word)| *word).collect()
    }

    /// What sort of value it has.
    pub(crate) const fn sort(self) -> Sort {
        match self {
            Self::Kind => Sort::Words(KINDS),
            Self::Section => Sort::Words(SECTIONS),
            Self::Make => Sort::Words(MAKES),
            Self::Place => Sort::Words(PLACES),
            Self::Role => Sort::Words(ROLES),
            Self::Use => Sort::Words(USES),
            Self::Load => Sort::Words(LOADS),
            Self::Shape => Sort::Words(SHAPES),
            Self::Trade => Sort::Words(TRADES),
            Self::Service => Sort::Words(SERVICES),
            Self::LoadBearing | Self::WebsKnown | Self::SizeKnown => Sort::YesNo,
            Self::Depth | Self::Breadth | Self::Length | Self::Span | Self::Overhang => {
                Sort::Length
            }
            Self::SpanToDepth | Self::Spans | Self::Shared => Sort::Figure,
        }
    }

    /// Whether it is a fact of the cut and its services rather than of the member.
    pub(crate) const fn of_the_cut(self) -> bool {
        matches!(self, Self::Shape | Self::Trade | Self::Service | Self::Shared | Self::SizeKnown)
    }
}

/// What is asked of a fact.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Condition {
    pub(crate) fact: Fact,
    pub(crate) test: Test,
}

/// How a fact is tested.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Test {
    /// One of `is` (any, if empty) and none of `not`.
    Words { is: Vec<&'static str>, not: Vec<&'static str> },
    /// Yes or no.
    YesNo(bool),
    /// A length within these.
    Lengths(Range<Length>),
    /// A figure within these.
    Figures(Range<f64>),
}

/// Bounds; `above` and `below` leave the figure itself out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Range<T> {
    pub(crate) at_least: Option<T>,
    pub(crate) at_most: Option<T>,
    pub(crate) above: Option<T>,
    pub(crate) below: Option<T>,
}

impl<T> Default for Range<T> {
    fn default() -> Self {
        Self { at_least: None, at_most: None, above: None, below: None }
    }
}

pub(crate) const fn place_word(place: Place) -> &'static str {
    match place {
        Place::Floor => "floor",
        Place::FlatRoof => "flat-roof",
        Place::Ceiling => "ceiling",
        Place::PitchedRoof => "pitched-roof",
        Place::Wall => "wall",
        Place::Unknown => "unknown",
    }
}

pub(crate) const fn make_word(make: TimberMake) -> &'static str {
    match make {
        TimberMake::Solid => "solid",
        TimberMake::Glulam => "glulam",
        TimberMake::Lvl => "lvl",
        TimberMake::Panel => "panel",
        TimberMake::Engineered => "engineered",
        TimberMake::NotStated => "not-stated",
    }
}

pub(crate) fn role_word(role: Option<Role>) -> &'static str {
    role.map_or("none", Role::word)
}

pub(crate) const fn shape_word(shape: CutShape) -> &'static str {
    match shape {
        CutShape::Round => "round",
        CutShape::Rectangular => "rectangular",
        CutShape::Other => "other",
    }
}

pub(crate) const fn load_word(load: DeckLoadKind) -> &'static str {
    match load {
        DeckLoadKind::PartitionAlong => "partition-along",
        DeckLoadKind::PartitionAcross => "partition-across",
        DeckLoadKind::Vessel => "vessel",
        DeckLoadKind::Bath => "bath",
    }
}

pub(crate) const ALL_TRADES: [Trade; 10] = [
    Trade::Soil,
    Trade::Waste,
    Trade::Flue,
    Trade::Gas,
    Trade::Air,
    Trade::Heating,
    Trade::Water,
    Trade::Chilled,
    Trade::Electric,
    Trade::Unknown,
];

pub(crate) fn trade_word(trade: Trade) -> &'static str {
    let at = ALL_TRADES.iter().position(|&t| t == trade).unwrap_or(9);
    TRADES.get(at).copied().unwrap_or("unknown")
}

pub(crate) const ALL_SERVICES: [ServiceKind; 7] = [
    ServiceKind::Pipe,
    ServiceKind::Duct,
    ServiceKind::Cable,
    ServiceKind::Carrier,
    ServiceKind::Fitting,
    ServiceKind::Terminal,
    ServiceKind::Other,
];

/// Whether a kind of member is known.
pub(crate) const fn kind_known(kind: MemberKind) -> bool {
    !matches!(kind, MemberKind::Unknown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_the_model_is_a_word_of_the_packs() {
        assert!(
            KINDS.contains(&MemberKind::TrussPart.word())
                && KINDS.contains(&MemberKind::Rim.word())
        );
        for trade in ALL_TRADES {
            assert!(TRADES.contains(&trade_word(trade)));
        }
        assert_eq!(trade_word(Trade::Electric), "electric");
        for service in ALL_SERVICES {
            assert!(SERVICES.contains(&service.word()));
        }
        for role in [Role::Ply, Role::Trimming, Role::Trimmer, Role::Trimmed] {
            assert!(ROLES.contains(&role_word(Some(role))));
        }
    }

    #[test]
    fn a_fact_is_found_by_its_name() {
        assert_eq!(Fact::named("span-to-depth"), Some(Fact::SpanToDepth));
        assert_eq!(Fact::Overhang.word(), "overhang");
        assert_eq!(Fact::named("colour"), None);
    }
}
