//! From IFC models to plain candidates: the one place that knows IFC.

mod align;
mod element;
mod family;
mod ids;
mod shared;
mod storeys;
mod told;

#[cfg(test)]
mod tests;

pub use family::{CLASS_USES, ClassUse};

use crate::candidate::Candidate;
use crate::core::{Building, look, scene};
use crate::scene::{Input, Scene, Warning};
use crate::settings::RecogniseSettings;
use crate::sorting::Sort;
use rayon::prelude::*;
use shared::Shared;
use std::sync::atomic::{AtomicUsize, Ordering};
use wimble_ifc::Model;
use wimble_model::Storey;

/// One file: what is known of it as a file, and its model.
pub struct Source<'a, 'b> {
    /// The file.
    pub input: Input,
    /// Its model.
    pub model: &'a Model<'b>,
}

/// Elements that are read in one piece at most: the threads are to end together, but what elements
/// share is read once for each piece.
const PIECE: usize = 1 << 11;
/// Elements between two pauses, at each of which who reads may let go of what lies behind.
const PAUSE: usize = 1 << 14;

/// The elements of all files, each looked at alone. The files are not needed any more.
pub struct Elements {
    building: Building,
    sorts: Vec<Sort>,
}

/// Reads the elements of the files, in the order given: where two give the same element, the first
/// is the authority. `pause` is called now and then, from any thread.
#[must_use]
pub fn read(
    sources: &[Source<'_, '_>],
    settings: &RecogniseSettings,
    pause: &(dyn Fn() + Sync),
) -> Elements {
    let read = AtomicUsize::new(1);
    let look = |candidate, storeys: &[Storey]| {
        if read.fetch_add(1, Ordering::Relaxed).is_multiple_of(PAUSE) {
            pause();
        }
        look(candidate, storeys, settings)
    };
    let (building, sorts) = building(sources, settings, look);
    Elements { building, sorts }
}

impl Elements {
    /// Recognises members, services, supports, spans and openings among them.
    ///
    /// Nothing is lost: every product of every file is in the coverage with its reason, what could
    /// not be read is a warning.
    #[must_use]
    pub fn scene(self, settings: &RecogniseSettings) -> Scene {
        scene(self.building, self.sorts, settings)
    }
}

/// Reads the elements of the files and recognises what they are: [`read`] and [`Elements::scene`]
/// in one.
#[must_use]
pub fn recognise(sources: &[Source<'_, '_>], settings: &RecogniseSettings) -> Scene {
    read(sources, settings, &|| {}).scene(settings)
}

/// How each file is moved into the world of the first: `None` where it stays as it is.
#[must_use]
pub fn moves(models: &[&Model<'_>], by_map: bool) -> Vec<Option<glam::DAffine3>> {
    align::moves(models, by_map).0
}

/// Everything that recognition asks of the files, as plain values. Each element is looked at as soon
/// as it is read, so that what only its first look needs is not kept.
fn building(
    sources: &[Source<'_, '_>],
    settings: &RecogniseSettings,
    look: impl Fn(Candidate, &[Storey]) -> (Candidate, Sort) + Sync,
) -> (Building, Vec<Sort>) {
    sources.par_iter().for_each(|source| source.model.read_ahead());
    let mut warnings: Vec<Warning> = Vec::new();
    let models: Vec<&Model<'_>> = sources.iter().map(|source| source.model).collect();
    let (moves, apart) = align::moves(&models, settings.align_map);
    warnings.extend(apart);
    let storeys = storeys::merged(&models, &moves);
    let mut candidates: Vec<Candidate> = Vec::new();
    let mut sorts: Vec<Sort> = Vec::new();
    for (input, (model, shift)) in (0u32..).zip(models.iter().zip(&moves)) {
        let first = u32::try_from(candidates.len()).unwrap_or(u32::MAX);
        let mapped = !settings.mapping.is_empty();
        let reader = element::Reader::new(model, input, first, shift, &storeys.of_row, mapped);
        let (mut of_file, mut looks) = (Vec::new(), Vec::new());
        model
            .products()
            .par_iter()
            .with_max_len(PIECE)
            .map_init(
                || Shared::of(model),
                |shared, &row| look(reader.candidate(row, shared), &storeys.list),
            )
            .unzip_into_vecs(&mut of_file, &mut looks);
        warnings.extend(ids::faulty(model, input, &of_file));
        if candidates.is_empty() {
            (candidates, sorts) = (of_file, looks);
        } else {
            candidates.append(&mut of_file);
            sorts.append(&mut looks);
        }
        // Only now: what is odd is met while the elements are read.
        warnings.extend(told::told(input, model.diagnostics()));
    }
    let building = Building {
        inputs: sources.iter().map(|source| source.input.clone()).collect(),
        storeys: storeys.list,
        candidates,
        warnings,
    };
    (building, sorts)
}
