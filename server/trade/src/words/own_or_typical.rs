//! Whose figures something rests on.

use super::spelling::spelt;

spelt! {
    /// Whose figures something rests on.
    Kind {
        /// Typical ones, not this shop's.
        Typical = "typical",
        /// The shop's own.
        Own = "own",
    }
}
