//! Members and cuts measured by hand: the site sheet, and how lengths are read off a tape.
//!
//! The installer with a tape and the inspector with a torch have no model. A [`Sheet`] is what they
//! write down instead, as TOML ([`Sheet::from_toml`]) or as a table ([`Sheet::from_csv`], the way a
//! spreadsheet saves it): members, what passes through them and what is cut already. From it
//! [`Sheet::building`] (of several, [`Building::add`]) makes a [`Scene`](wimble_recognise::Scene), so that crossing, rules, remedies
//! and reports run as they do for a model. A sheet that measures the members of a model is laid
//! over it by [`Sheet::measured_on`]. [`schema()`] is for editors.
//!
//! * [`read_tape`], [`print_tape`]: `3.6 m`, `7-1/4 in`, `12' 6-1/2"`.
//! * [`read_service`]: `22 mm copper`, `40 mm waste push-fit`, `1/2 in EMT`, with the outside size
//!   from the table of standard pipes.
//!
//! ```
//! use wimble_sheet::Sheet;
//! let sheet = Sheet::from_toml("
//!     [[member]]
//!     name = 'Bathroom joist 3'
//!     section = '47 x 220'
//!     span = '3.6 m'
//!     [[member.cut]]
//!     pipe = '22 mm copper'
//!     at = 1170
//! ")?;
//! let building = sheet.building("site.toml", "")?;
//! assert_eq!(building.scene.members[0].spans[0].length_mm(), 3600.0);
//! assert_eq!(building.scene.services.len(), 1);
//! # Ok::<(), wimble_sheet::SheetError>(())
//! ```
//!
//! Not here: files, what is allowed, wording of reports.

mod as_built;
mod body;
mod building;
mod cut;
mod error;
mod head;
mod lumber;
mod member;
mod row;
mod schema;
mod service;
mod sheet;
mod table;
mod tape;
#[cfg(test)]
mod tests;
mod text;

pub use as_built::{Laid, MeasuredOn};
pub use building::Building;
pub use cut::{CutPlace, Datum, Level, Made, SheetCut};
pub use error::SheetError;
pub use lumber::read_lumber;
pub use member::SheetMember;
pub use schema::schema;
pub use service::{SiteService, read_service};
pub use sheet::Sheet;
pub use tape::{Rounded, TapeUnit, Taped, bare_tape, print_tape, read_tape};
