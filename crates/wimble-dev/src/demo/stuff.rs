//! Materials and types of the demo building.

use crate::ifc::{Substance, TypeOf};

const fn wood(name: &'static str, grade: &'static str, species: &'static str) -> Substance {
    Substance { name, category: Some("wood"), wood: Some((grade, species)) }
}

const fn other(name: &'static str, category: &'static str) -> Substance {
    Substance { name, category: Some(category), wood: None }
}

pub(super) const C24: Substance = wood("C24 softwood", "C24", "Picea abies");
pub(super) const C16: Substance = wood("C16 softwood", "C16", "Picea abies");
pub(super) const TR26: Substance = wood("TR26 softwood", "TR26", "Pinus sylvestris");
pub(super) const GL24H: Substance = wood("GL24h glued laminated timber", "GL24h", "Picea abies");
pub(super) const LVL: Substance = wood("LVL spruce", "LVL48P", "Picea abies");
pub(super) const I_JOIST: Substance = other("I-joist, C24 softwood flanges, OSB web", "wood");
pub(super) const OPEN_WEB: Substance = other("Open-web joist, C24 softwood chords", "wood");
pub(super) const STEEL: Substance = other("Galvanised steel", "steel");
pub(super) const BLOCK: Substance = other("Concrete blockwork 7.3 N", "block");
pub(super) const BRICK: Substance = other("Facing brick", "brick");
pub(super) const CONCRETE: Substance = other("Concrete C25/30", "concrete");
pub(super) const PLASTERBOARD: Substance = other("Plasterboard", "gypsum");
pub(super) const STUDWORK: Substance = other("Softwood studs", "wood");
pub(super) const CHIPBOARD: Substance = other("Chipboard P5", "wood");

const fn of(class: &'static str, name: &'static str, predefined: &'static str) -> TypeOf {
    TypeOf { class, name, predefined, element_type: None }
}

pub(super) const JOIST_220: TypeOf = of("IfcBeamType", "Floor joist 47x220 C24", "JOIST");
pub(super) const JOIST_275: TypeOf = of("IfcBeamType", "Floor joist 75x275 C24", "JOIST");
pub(super) const FLAT_ROOF_JOIST: TypeOf = of("IfcBeamType", "Flat roof joist 47x170 C16", "JOIST");
pub(super) const CEILING_JOIST: TypeOf = of("IfcBeamType", "Ceiling joist 47x97 C16", "JOIST");
pub(super) const I_JOIST_240: TypeOf = of("IfcBeamType", "I-joist 240x45", "JOIST");
pub(super) const OPEN_WEB_254: TypeOf = of("IfcBeamType", "Open-web joist 254", "JOIST");
pub(super) const GLULAM_BEAM: TypeOf = of("IfcBeamType", "Glulam beam 90x315 GL24h", "BEAM");
pub(super) const POST_100: TypeOf = of("IfcColumnType", "Timber post 100x100", "COLUMN");
pub(super) const LEDGER: TypeOf = of("IfcMemberType", "Ledger 47x170 C16", "STRINGER");
pub(super) const RIM: TypeOf = TypeOf {
    class: "IfcMemberType",
    name: "Rim board 38x240 LVL",
    predefined: "USERDEFINED",
    element_type: Some("Rim board"),
};
pub(super) const STRUTTING: TypeOf = TypeOf {
    class: "IfcMemberType",
    name: "Solid strutting 38x165",
    predefined: "USERDEFINED",
    element_type: Some("Strutting"),
};
pub(super) const STRONGBACK: TypeOf = TypeOf {
    class: "IfcMemberType",
    name: "Strongback 47x97",
    predefined: "USERDEFINED",
    element_type: Some("Strongback"),
};
pub(super) const FIRRING: TypeOf = TypeOf {
    class: "IfcMemberType",
    name: "Firring 47 x 20 to 60",
    predefined: "USERDEFINED",
    element_type: Some("Firring"),
};
pub(super) const STUD: TypeOf = of("IfcMemberType", "Stud 38x89 C16", "STUD");
pub(super) const WALL_PLATE: TypeOf = of("IfcMemberType", "Plate 38x89 C16", "PLATE");
pub(super) const ROOF_PLATE: TypeOf = of("IfcMemberType", "Wall plate 100x50 C16", "PLATE");
pub(super) const RAFTER: TypeOf = of("IfcMemberType", "Rafter 47x150 C24", "RAFTER");
pub(super) const RIDGE: TypeOf = of("IfcMemberType", "Ridge board 40x200 C16", "PURLIN");
pub(super) const CHORD: TypeOf = of("IfcMemberType", "Truss chord 35x97 TR26", "CHORD");
pub(super) const TRUSS_WEB: TypeOf = of("IfcMemberType", "Truss web 35x72 TR26", "STRUT");
pub(super) const OPEN_CHORD: TypeOf = of("IfcMemberType", "Open-web chord 72x47", "CHORD");
pub(super) const OPEN_STRUTS: TypeOf = of("IfcMemberType", "Open-web steel webs", "BRACE");
pub(super) const HANGER: TypeOf = of("IfcDiscreteAccessoryType", "Joist hanger", "SHOE");
