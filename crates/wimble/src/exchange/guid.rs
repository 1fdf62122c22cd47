//! GlobalIds that are the same at every writing.

use uuid::Uuid;

/// The namespace of the ids of everything that is written into IFC.
const NAMESPACE: Uuid = Uuid::from_u128(0x6f1c_2b0e_7a45_5d2c_9e38_41d7_b06a_93f5);

/// Alphabet of the compressed form; documentation of the schema, IfcGloballyUniqueId.
const ALPHABET: &[u8; 64] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$";

/// The GlobalId of a thing by its kind and name: a UUID of version 5 in 22 characters of base 64.
pub(super) fn guid(kind: &str, name: &str) -> String {
    compressed(Uuid::new_v5(&NAMESPACE, format!("{kind}/{name}").as_bytes()).as_u128())
}

/// 128 bits, most significant first; the first character holds the top two.
fn compressed(bits: u128) -> String {
    let digit = |place: u32| usize::try_from((bits >> (6 * place)) & 63).unwrap_or(0);
    (0..22).rev().filter_map(|place| ALPHABET.get(digit(place)).copied().map(char::from)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn compression_agrees_with_the_published_pair() {
        // f70dd363-bfe3-495d-84a0-2c02dcb7d4d2 of the schema's documentation.
        assert_eq!(compressed(0xf70d_d363_bfe3_495d_84a0_2c02_dcb7_d4d2), "3t3TDZl_D9NOIWB0BSjzJI");
    }

    #[test]
    fn a_thing_keeps_its_id_and_shares_it_with_none() {
        assert_eq!(guid("opening", "c1"), guid("opening", "c1"));
        assert_ne!(guid("opening", "c1"), guid("opening", "c2"));
        assert_ne!(guid("opening", "c1"), guid("voids", "c1"));
        assert_eq!(guid("opening", "c1").len(), 22);
    }
}
