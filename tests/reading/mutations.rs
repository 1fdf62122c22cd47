//! Real models damaged at random: whatever comes of it, it is an answer.

use crate::support::report::{check, inspect_all};
use crate::support::shared::shared;
use std::panic::{AssertUnwindSafe, catch_unwind};
use wimble_dev::floors::Random;

/// Small models with many kinds of shape.
const MODELS: [&str; 6] = [
    "buildingsmart-examples/beam-standard-case.ifc",
    "buildingsmart-examples/wall-elemented-case.ifc",
    "buildingsmart-examples/basin-advanced-brep.ifc",
    "buildingsmart-examples/bath-csg-solid.ifc",
    "geometry-cases/beam-47-recesses.ifc",
    "framing-library/library.ifc",
];
/// How often each is damaged.
const TIMES: u64 = 12;

#[test]
fn damaged_models_never_make_the_program_stop() {
    let Some(shared) = shared("damaged_models_never_make_the_program_stop") else { return };
    let models = shared.0.join("models");
    let mut stopped = Vec::new();
    let mut tried = 0;
    for name in MODELS {
        let Ok(bytes) = std::fs::read(models.join(name)) else { continue };
        for seed in 0..TIMES {
            let damaged = damaged(&bytes, seed);
            tried += 1;
            let file = (name.to_owned(), damaged);
            let ends = catch_unwind(AssertUnwindSafe(|| {
                if inspect_all(std::slice::from_ref(&file)).is_ok() {
                    let _ = check(std::slice::from_ref(&file), "");
                }
            }));
            if ends.is_err() {
                stopped.push(format!("{name}, seed {seed}"));
            }
        }
    }
    assert!(tried >= 4 * TIMES, "{tried} models");
    assert!(stopped.is_empty(), "{stopped:?}");
}

/// Bytes exchanged, left out or doubled, numbers blown up, references turned round; or the end cut.
fn damaged(bytes: &[u8], seed: u64) -> Vec<u8> {
    let mut random = Random::new(seed);
    let mut bytes = bytes.to_vec();
    let data = bytes.windows(5).position(|w| w == b"DATA;").unwrap_or(0);
    for _ in 0..=seed * 4 {
        if bytes.len() < data + 100 {
            break;
        }
        let place = data + random.below(bytes.len() - data - 1);
        let is_digit = bytes[place].is_ascii_digit();
        match random.below(6) {
            0 => bytes[place] = b"#$*(),;'.0\\"[random.below(11)],
            1 => drop(bytes.remove(place)),
            2 => bytes.insert(place, bytes[place]),
            3 if is_digit => drop(bytes.splice(place..place, *b"99999")),
            4 if is_digit => bytes[place] = b"0123456789"[random.below(10)],
            _ => bytes[place] ^= 1 << random.below(8),
        }
    }
    if seed % 4 == 3 {
        bytes.truncate(data + random.below(bytes.len() - data));
    }
    bytes
}
