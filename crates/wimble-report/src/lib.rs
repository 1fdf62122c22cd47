//! One file per report format, all made from the same report value.
