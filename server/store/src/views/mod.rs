//! What a reader gets: the API's answers, one type for one thing.

/// Declares answer types that serialize, read back (for repeated requests) and document themselves.
macro_rules! views {
    ($($(#[$outer:meta])* $name:ident { $($(#[$inner:meta])* $field:ident: $type:ty,)+ })+) => {$(
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
        $(#[$outer])*
        pub struct $name { $($(#[$inner])* pub $field: $type,)+ }
    )+};
}

mod board;
mod evening;
mod forecasts;
mod instruments;
mod letters;
mod orders;
mod people;
mod photos;
mod quotes;
mod tests;

pub use board::{Board, BoardOrder, BoardStage};
pub use evening::{BenchLook, Evening, Flame, LetterBack};
pub use forecasts::{DateShare, Forecast, ForecastOrder, LikelyLate, NewOrderReady, NewOrdersForecast, SimilarCost};
pub use instruments::{History, Instrument, PastPhoto, PastTest, Visit, WatchItem};
pub use letters::{Letter, LetterText, Link};
pub use orders::{Accessory, CounterMark, Ending, FieldChange, Finding, Hold, MapThing, Method, Minutes, Note, OpenQuestion, Operation, OrderChange, OrderLine, PinnedTo, Place, PossibleMove, Running, StageChange, SuggestionView, WorkOrder};
pub use people::{Customer, CustomerRef, NameRef, Person, PersonRef};
pub use photos::{Photo, PhotoCopy};
pub use quotes::{Decision, OrderMoney, Payment, Quote};
pub use tests::{FitCheck, LeakSpot, RequiredTest, Test};
