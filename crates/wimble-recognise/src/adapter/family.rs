//! What a class makes an element.

use crate::candidate::Family;
use wimble_ifc::Class;

/// Classes of elements that are taken as one thing, and what they are taken as.
#[derive(Debug, Clone, Copy)]
pub struct ClassUse {
    /// The classes, with their subclasses unless these are named elsewhere.
    pub classes: &'static [&'static str],
    /// What they are looked at as.
    pub taken_as: &'static str,
    pub(crate) family: Family,
}

macro_rules! uses {
    ($($family:ident $taken_as:literal: $($class:literal)+;)+) => {
        &[$(ClassUse { classes: &[$($class),+], taken_as: $taken_as, family: Family::$family },)+]
    };
}

/// What each class of element is taken as, before its shape, material and name are looked at.
pub const CLASS_USES: &[ClassUse] = uses! {
    Beam "a timber member, if shape, material and name say so; else it may carry": "IfcBeam";
    Member "a timber member, if shape, material and name say so; else it may carry": "IfcMember";
    Column "a timber member, if shape, material and name say so; else it may carry": "IfcColumn";
    Plate "a timber member or the web of one, if shape, material and name say so; else it may carry": "IfcPlate";
    Part "a timber member, if shape, material and name say so; else it may carry": "IfcBuildingElementPart";
    Assembly "the whole of its parts; an open-web joist if they are its chords and webs": "IfcElementAssembly";
    Proxy "a timber member, a service (of a system, or named as one), a provision for a void or something that carries, by what it says of itself": "IfcBuildingElementProxy";
    Slab "carries; timber that is only a layer is named": "IfcSlab";
    Wall "carries; timber that is only a layer is named": "IfcWall";
    Roof "the whole of its parts; timber that is only a layer is named": "IfcRoof";
    Footing "carries": "IfcFooting" "IfcPile" "IfcDeepFoundation";
    Stair "neither cut nor carrying": "IfcStair" "IfcStairFlight" "IfcRamp" "IfcRampFlight";
    Fastener "a hanger or other fastener": "IfcFastener" "IfcMechanicalFastener" "IfcDiscreteAccessory" "IfcElementComponent";
    Covering "a finish, or the lagging of the service that it covers": "IfcCovering";
    Fitting "neither cut nor carrying": "IfcDoor" "IfcWindow" "IfcCurtainWall" "IfcRailing" "IfcChimney" "IfcShadingDevice";
    Furnishing "neither cut nor carrying; heavy things on a floor are told": "IfcFurnishingElement" "IfcTransportElement" "IfcEquipmentElement";
    Reinforcement "neither cut nor carrying": "IfcReinforcingElement";
    FlowSegment "a service: pipe, duct, cable or carrier, in IFC2X3 by its type": "IfcFlowSegment";
    FlowFitting "a service": "IfcFlowFitting";
    FlowTerminal "a service: terminals and equipment that sit in a floor are cuts like any other": "IfcDistributionElement" "IfcElectricalElement";
    Opening "an opening in its host": "IfcFeatureElementSubtraction";
    Feature "takes nothing away": "IfcFeatureElement";
    Spatial "the building's structure": "IfcSpatialElement" "IfcSpatialStructureElement";
    PortOrAnnotation "no part of the building; a virtual element that asks for a void is a provision": "IfcPort" "IfcAnnotation" "IfcGrid" "IfcVirtualElement" "IfcStructuralItem" "IfcStructuralActivity" "IfcPositioningElement" "IfcProxy";
};

/// What a class makes an element: the first of its ancestors that says so.
pub(super) fn family(class: Class) -> Family {
    std::iter::once(class)
        .chain(class.ancestors())
        .find_map(|class| of_name(class.name()))
        .unwrap_or(Family::Other)
}

fn of_name(name: &str) -> Option<Family> {
    CLASS_USES.iter().find(|entry| entry.classes.contains(&name)).map(|entry| entry.family)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_is_one_of_a_schema_and_named_once() {
        let names: Vec<&str> = CLASS_USES.iter().flat_map(|entry| entry.classes).copied().collect();
        for (place, name) in names.iter().enumerate() {
            assert_eq!(Class::of_keyword(name).map(Class::name), Some(*name));
            assert!(!names[..place].contains(name), "{name}");
        }
    }
}
