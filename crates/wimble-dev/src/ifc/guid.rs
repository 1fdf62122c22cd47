//! GlobalIds that are the same at every writing.

/// Alphabet of the compressed form; the schema documentation, IfcGloballyUniqueId.
const ALPHABET: &[u8; 64] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$";

/// The GlobalId of the thing called `name` in the file called `space`: 128 bits of a hash, spelt as
/// 22 characters of base 64 (the first holds the top two bits only).
#[must_use]
pub fn guid(space: &str, name: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(space.as_bytes());
    hasher.update(b"/");
    hasher.update(name.as_bytes());
    let mut bits = [0; 16];
    hasher.finalize_xof().fill(&mut bits);
    compress(u128::from_be_bytes(bits))
}

fn compress(bits: u128) -> String {
    (0..22)
        .rev()
        .map(|place| {
            let digit = (bits >> (6 * place)) & 63;
            char::from(ALPHABET[digit as usize])
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn compression_agrees_with_the_published_vector() {
        // Vector of ../shared/standards/NOTES.md 2.10.
        assert_eq!(compress(0xf70d_d363_bfe3_495d_84a0_2c02_dcb7_d4d2), "3t3TDZl_D9NOIWB0BSjzJI");
    }

    #[test]
    fn names_and_files_tell_ids_apart() {
        assert_eq!(guid("a", "b"), guid("a", "b"));
        assert_ne!(guid("a", "b"), guid("a", "c"));
        assert_ne!(guid("a", "b"), guid("b", "b"));
    }
}
