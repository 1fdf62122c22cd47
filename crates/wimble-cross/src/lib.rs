//! Where services meet members, and the cut that each crossing implies.
