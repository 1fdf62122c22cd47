//! ISO 10303-21 (STEP) files: a record index first, then one record at a time.
