//! Shapes from small files.
