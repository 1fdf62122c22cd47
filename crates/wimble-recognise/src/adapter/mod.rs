//! From IFC models to plain candidates: the one place that knows IFC.

mod align;
mod element;
mod family;
mod ids;
mod storeys;
mod told;

#[cfg(test)]
mod tests;

pub use family::{CLASS_USES, ClassUse};

use crate::candidate::Candidate;
use crate::core::{Building, scene};
use crate::scene::{Input, Scene, Warning};
use crate::settings::RecogniseSettings;
use rayon::prelude::*;
use wimble_ifc::Model;

/// One file: what is known of it as a file, and its model.
pub struct Source<'a, 'b> {
    /// The file.
    pub input: Input,
    /// Its model.
    pub model: &'a Model<'b>,
}

/// Recognises members, services, supports, spans and openings in the files, in the order given:
/// where two give the same element, the first is the authority.
///
/// Nothing is lost: every product of every file is in the coverage with its reason, what could
/// not be read is a warning.
#[must_use]
pub fn recognise(sources: &[Source<'_, '_>], settings: &RecogniseSettings) -> Scene {
    scene(building(sources, settings), settings)
}

/// How each file is moved into the world of the first: `None` where it stays as it is.
#[must_use]
pub fn moves(models: &[&Model<'_>], by_map: bool) -> Vec<Option<glam::DAffine3>> {
    align::moves(models, by_map).0
}

/// Everything that recognition asks of the files, as plain values.
fn building(sources: &[Source<'_, '_>], settings: &RecogniseSettings) -> Building {
    sources.par_iter().for_each(|source| source.model.read_ahead());
    let mut warnings: Vec<Warning> = Vec::new();
    let models: Vec<&Model<'_>> = sources.iter().map(|source| source.model).collect();
    let (moves, apart) = align::moves(&models, settings.align_map);
    warnings.extend(apart);
    let storeys = storeys::merged(&models, &moves);
    let mut candidates: Vec<Candidate> = Vec::new();
    for (input, (model, shift)) in (0u32..).zip(models.iter().zip(&moves)) {
        let first = u32::try_from(candidates.len()).unwrap_or(u32::MAX);
        let reader = element::Reader::new(model, input, first, shift, &storeys.of_row);
        candidates.par_extend(model.products().par_iter().map(|&row| reader.candidate(row)));
        let of_file = candidates.get(first as usize..).unwrap_or_default();
        warnings.extend(ids::faulty(model, input, of_file));
        // Only now: what is odd is met while the elements are read.
        warnings.extend(told::told(input, model.diagnostics()));
    }
    Building {
        inputs: sources.iter().map(|source| source.input.clone()).collect(),
        storeys: storeys.list,
        candidates,
        warnings,
    }
}
