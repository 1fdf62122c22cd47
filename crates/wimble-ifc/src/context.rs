//! The coordinate system that all placements end in.

use crate::{Model, class};
use glam::{DAffine3, DVec2};
use wimble_step::Row;

/// The model context: the frame of the world and where north is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Context {
    /// `WorldCoordinateSystem` of the model context, metres.
    pub(crate) world: DAffine3,
    /// `TrueNorth` in the world's x–y plane, unit length.
    pub(crate) true_north: Option<DVec2>,
}

impl Default for Context {
    fn default() -> Self {
        Self { world: DAffine3::IDENTITY, true_north: None }
    }
}

impl Context {
    pub(crate) fn read(model: &Model<'_>, project: Option<Row>) -> Self {
        let mut contexts: Vec<Row> =
            project.map(|row| model.references(row, "RepresentationContexts")).unwrap_or_default();
        if contexts.is_empty() {
            contexts = model.rows_of_class(class!("IfcGeometricRepresentationContext"));
        }
        // A subcontext derives its frame from its parent.
        contexts.retain(|row| {
            model.is_a(*row, class!("IfcGeometricRepresentationContext"))
                && !model.is_a(*row, class!("IfcGeometricRepresentationSubContext"))
        });
        let kind = |row: Row| model.text(row, "ContextType").unwrap_or_default();
        let is_model = |row: &&Row| kind(**row).eq_ignore_ascii_case("Model");
        let is_solid = |row: &&Row| model.number(**row, "CoordinateSpaceDimension") == Some(3.0);
        let chosen = contexts
            .iter()
            .find(is_model)
            .or_else(|| contexts.iter().find(is_solid))
            .or(contexts.first());
        let Some(&row) = chosen else { return Self::default() };
        let frame = |row: Row| match model.reference(row, "WorldCoordinateSystem") {
            Some(system) => model.frame(system),
            None => Ok(DAffine3::IDENTITY),
        };
        let world = frame(row).unwrap_or_else(|trouble| {
            model.note(
                row,
                format!(
                    "the world coordinate system cannot be read ({trouble}); the origin is used"
                ),
            );
            DAffine3::IDENTITY
        });
        let differs = |other: &&Row| {
            **other != row && frame(**other).is_ok_and(|other| !other.abs_diff_eq(world, 1e-9))
        };
        if let Some(other) = contexts.iter().filter(is_solid).find(differs) {
            let name = model.step().name(row);
            let text = "a second 3-D context has another world coordinate system";
            model.note(*other, format!("{text}; that of #{name} is used for all"));
        }
        let true_north = model
            .reference(row, "TrueNorth")
            .and_then(|north| model.direction(north).ok())
            .and_then(|north| north.truncate().try_normalize());
        Self { world, true_north }
    }
}
