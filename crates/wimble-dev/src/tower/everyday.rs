//! A model as a design office sends it out: most of it is what no rule looks at.

use super::text::Text;
use super::worst::faceted;
use super::{LENGTH, STOREY, Written, bays, floors};
use crate::floors::Random;
use std::io::{self, Write};

/// Joists for which there is one fitting, and the sides of its faceted body: two thirds of the
/// bytes are of fittings.
const JOISTS_A_FITTING: usize = 2;
const SIDES: usize = 32;
/// Height of the fittings above the joists, where no pipe runs.
const ABOVE: f64 = 800.0;

/// Floors as in a tower, furnished: fittings whose bodies are faces stand on the joists.
///
/// # Errors
/// Those of the writer.
pub fn everyday(joists: usize, out: &mut impl Write) -> io::Result<Written> {
    let mut text = Text::begin(out, "everyday.ifc")?;
    let mut random = Random::new(4);
    let mut written = Written::default();
    for (floor, joists) in floors(joists) {
        let storey = text.storey(floor, STOREY * floor as f64)?;
        let mut of_storey = bays(&mut text, &storey, joists, &mut random, &mut written)?;
        for n in 0..joists / JOISTS_A_FITTING {
            let at = [LENGTH * (n % 20) as f64, LENGTH * (n / 20) as f64, ABOVE];
            let body = faceted(&mut text, at, SIDES)?;
            of_storey.push(text.product_of(&storey, "IFCFURNITURE", "Brep", body, "$")?);
        }
        text.contained(&storey, &of_storey)?;
    }
    text.end(&mut written)?;
    Ok(written)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn most_of_it_is_what_no_rule_looks_at() {
        let mut furnished = Vec::new();
        let written = everyday(2000, &mut furnished).unwrap();
        let mut bare = Vec::new();
        let tower = crate::tower::Tower { members: 2000 }.write(&mut bare).unwrap();
        assert_eq!((written.members, written.cuts), (tower.members, tower.cuts));
        assert!(furnished.len() > 2 * bare.len(), "{} of {}", bare.len(), furnished.len());
    }
}
