//! Indices by which rows refer to each other.

use serde::{Deserialize, Serialize};

macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub u32);

        impl $name {
            /// The position in the list that it points into.
            #[must_use]
            pub const fn at(self) -> usize {
                self.0 as usize
            }
        }

        impl From<usize> for $name {
            /// Saturates at 2³²−1: lists stay far below it (a file has at most that many instances).
            fn from(position: usize) -> Self {
                Self(u32::try_from(position).unwrap_or(u32::MAX))
            }
        }
    };
}

index!(
    /// Points to a [`crate::Member`].
    MemberIx
);
index!(
    /// Points to a [`crate::Service`].
    ServiceIx
);
index!(
    /// Points to an [`crate::Opening`].
    OpeningIx
);
index!(
    /// Points to a [`crate::Cut`].
    CutIx
);
