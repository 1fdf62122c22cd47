//! How lengths are read off a tape: [`read_tape`], [`print_tape`].
//!
//! ```
//! use wimble_sheet::{TapeUnit, read_tape};
//! assert_eq!(read_tape("12' 6-1/2\"", TapeUnit::Mm)?.mm, 3822.7);
//! # Ok::<(), String>(())
//! ```

mod tape;

pub use tape::{Rounded, TapeUnit, Taped, bare_tape, print_tape, read_tape};
