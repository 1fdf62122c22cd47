//! Dressed lumber by its nominal name: a 2x10 is 1-1/2 by 9-1/4 inches (DOC PS 20, published).

const INCH_MM: f64 = 25.4;

/// Dressed size of a nominal one, sixteenths of an inch: 2 is 1-1/2, 10 is 9-1/4.
const fn dressed(nominal: u32) -> Option<u32> {
    Some(match nominal {
        2 => 24,
        4 => 56,
        6 => 88,
        8 => 116,
        10 => 148,
        12 => 180,
        14 => 212,
        _ => return None,
    })
}

/// Breadth and depth of dressed lumber by name (`2x10`, `4 x 8`), mm; `None` for anything else. No
/// section that is measured in millimetres or in dressed inches reads as one.
#[must_use]
pub fn read_lumber(text: &str) -> Option<[f64; 2]> {
    let (breadth, depth) = text.trim().split_once(['x', '×', 'X'])?;
    let side = |text: &str| text.trim().parse::<u32>().ok().and_then(dressed);
    let breadth = side(breadth).filter(|sixteenths| *sixteenths <= 56)?;
    let depth = side(depth).filter(|depth| *depth >= 56)?;
    Some([breadth, depth].map(|sixteenths| f64::from(sixteenths) / 16.0 * INCH_MM))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nominal_names_are_dressed_sizes() {
        for (name, exact) in [
            ("2x4", [38.1, 88.9]),
            ("2 x 10", [38.1, 234.95]),
            ("2×12", [38.1, 285.75]),
            ("4X8", [88.9, 184.15]),
        ] {
            let read = read_lumber(name).unwrap();
            assert!(
                (read[0] - exact[0]).abs() < 1e-9 && (read[1] - exact[1]).abs() < 1e-9,
                "{name}"
            );
        }
        for other in ["47 x 220", "1-1/2 x 9-1/4", "3x5", "2x2", "12x4", "2x10 in", "x"] {
            assert_eq!(read_lumber(other), None, "{other}");
        }
    }
}
