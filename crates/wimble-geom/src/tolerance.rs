//! Every tolerance of the program, once. Metres unless the name says otherwise.
//!
//! They are fixed lengths, not the model's `Precision`: exporters write meaningless values there.

/// Two points nearer than this are one point.
pub const SAME_POINT: f64 = 1e-6;
/// Greatest distance between a curved surface and the mesh that stands for it.
pub const CHORD: f64 = 1e-4;
/// A faceted round body is a cylinder if its vertices lie this near to one.
pub const ROUND_FIT: f64 = 2e-4;
/// A crossing shares more than this with the member in each of x, y and z.
pub const CROSSING: f64 = 1e-3;
/// An edge or side is reached when less than this is left there.
pub const REACHED: f64 = 1e-3;
/// Contact: touching up to this is contact without remark …
pub const CONTACT: f64 = 3e-3;
/// … up to this it is accepted …
pub const CONTACT_ACCEPTED: f64 = 15e-3;
/// … and up to this over a bearing wall a plate is missing.
pub const NEAR_CONTACT: f64 = 75e-3;
/// Sine of the angle under which two directions are one.
pub const SAME_DIRECTION: f64 = 1e-6;
