//! Closed lists of words that stand for themselves.

/// A closed list of words that stand for themselves in files and reports: `ALL`, `code()` and `from_code()`.
#[macro_export]
macro_rules! coded {
    ($(#[$doc:meta])* $name:ident { $( $(#[$variant_doc:meta])* $variant:ident = $code:literal ),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $( $(#[$variant_doc])* $variant ),+ }

        impl $name {
            /// Every value, in the order of the list.
            pub const ALL: &'static [Self] = &[ $( Self::$variant ),+ ];

            /// The word used in files and reports.
            #[must_use]
            pub const fn code(self) -> &'static str {
                match self { $( Self::$variant => $code ),+ }
            }

            /// The value that `code` names, if any.
            #[must_use]
            pub fn from_code(code: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|value| value.code() == code)
            }
        }
    };
}
