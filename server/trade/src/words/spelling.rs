//! A word of the trade that is spelt alike in Rust, SQL and JSON.

/// An enum whose values are spelt the same everywhere they are written.
pub trait Spelt: Copy + Sized + 'static {
    /// Every value, in the order of the design.
    const ALL: &'static [Self];
    /// How the value is written in SQL, JSON and logs.
    fn spelling(self) -> &'static str;
    /// The value so spelt; `None` when there is none.
    #[must_use]
    fn from_spelling(text: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|word| word.spelling() == text)
    }
}

/// Declares an enum with one spelling per value, for serde, SQL and the API document alike.
// The spelling is taken as a token: as a `literal` fragment it reaches utoipa's derive wrapped in
// an invisible group, and the document would then name the Rust variant instead.
macro_rules! spelt {
    ($(#[$outer:meta])* $name:ident { $($(#[$inner:meta])* $value:ident = $spelling:tt,)+ }) => {
        $(#[$outer])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
        pub enum $name {
            $($(#[$inner])* #[serde(rename = $spelling)] $value,)+
        }
        impl $crate::words::spelling::Spelt for $name {
            const ALL: &'static [Self] = &[$(Self::$value,)+];
            fn spelling(self) -> &'static str {
                match self { $(Self::$value => $spelling,)+ }
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str($crate::words::spelling::Spelt::spelling(*self))
            }
        }
    };
}
pub(crate) use spelt;
