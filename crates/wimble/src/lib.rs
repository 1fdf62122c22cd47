//! The command `wimble`, and the same as a library.
//!
//! [`check()`] takes the bytes of models and [`Settings`] and gives a
//! [`Report`](wimble_report::Report); [`inspect`] stops after recognition. [`run`] is the command
//! around them: arguments, files, progress, exit code. Nothing below this crate opens a file,
//! reads the clock or the environment, or prints.
//!
//! ```
//! use wimble::{CheckError, Input, Settings, check};
//! let not_a_model = Input::new("notes.txt", &b"milk, eggs"[..]);
//! let error = check(&[not_a_model], &Settings::default()).unwrap_err();
//! assert!(matches!(error, CheckError::Open { .. }));
//! assert!(error.to_string().starts_with("notes.txt: "));
//! ```

mod args;
mod check;
mod commands;
mod error;
mod exchange;
mod free;
mod input;
mod marking;
mod moment;
mod moved;
mod output;
mod pipe;
mod places;
mod progress;
mod region;
mod settings;
mod site;
mod site_facts;
mod solids;
mod source;
mod stamp;
mod waivers;

pub use check::{check, inspect};
pub use commands::run;
pub use error::CheckError;
pub use input::Input;
pub use progress::Stage;
pub use settings::{Expected, FailOn, LookFor, PackChoice, Reserve, Settings, Trouble};
pub use waivers::Waiver;
