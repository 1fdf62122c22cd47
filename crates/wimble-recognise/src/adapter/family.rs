//! What a class makes an element.

use crate::candidate::Family;
use wimble_ifc::Class;

/// What a class makes an element: the first of its ancestors that says so.
pub(super) fn family(class: Class) -> Family {
    std::iter::once(class)
        .chain(class.ancestors())
        .find_map(|class| of_name(class.name()))
        .unwrap_or(Family::Other)
}

fn of_name(name: &str) -> Option<Family> {
    Some(match name {
        "IfcBeam" => Family::Beam,
        "IfcMember" => Family::Member,
        "IfcColumn" => Family::Column,
        "IfcPlate" => Family::Plate,
        "IfcSlab" => Family::Slab,
        "IfcWall" => Family::Wall,
        "IfcRoof" => Family::Roof,
        "IfcFooting" | "IfcPile" | "IfcDeepFoundation" => Family::Footing,
        "IfcStair" | "IfcStairFlight" | "IfcRamp" | "IfcRampFlight" => Family::Stair,
        "IfcBuildingElementPart" => Family::Part,
        "IfcElementAssembly" => Family::Assembly,
        "IfcBuildingElementProxy" => Family::Proxy,
        "IfcFastener"
        | "IfcMechanicalFastener"
        | "IfcDiscreteAccessory"
        | "IfcElementComponent" => Family::Fastener,
        "IfcCovering" => Family::Covering,
        "IfcDoor" | "IfcWindow" | "IfcCurtainWall" | "IfcRailing" | "IfcChimney"
        | "IfcShadingDevice" => Family::Fitting,
        "IfcFurnishingElement" | "IfcTransportElement" | "IfcEquipmentElement" => {
            Family::Furnishing
        }
        "IfcReinforcingElement" => Family::Reinforcement,
        "IfcFlowSegment" => Family::FlowSegment,
        "IfcFlowFitting" => Family::FlowFitting,
        "IfcDistributionElement" | "IfcElectricalElement" => Family::FlowTerminal,
        "IfcFeatureElementSubtraction" => Family::Opening,
        "IfcFeatureElement" => Family::Feature,
        "IfcSpatialElement" | "IfcSpatialStructureElement" => Family::Spatial,
        "IfcPort"
        | "IfcAnnotation"
        | "IfcGrid"
        | "IfcVirtualElement"
        | "IfcStructuralItem"
        | "IfcStructuralActivity"
        | "IfcPositioningElement"
        | "IfcProxy" => Family::PortOrAnnotation,
        _ => return None,
    })
}
