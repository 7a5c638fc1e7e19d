//! What a handler needs from a request. A handler cannot be reached with any of it missing.

mod body;
mod once_key;
mod order_path;
mod page;
mod params;
mod picture_body;
mod pressure_body;
mod seen_version;
mod signed_in;
mod strict;

pub use body::{Body, MOST_WITH_LOG};
pub use once_key::OnceKey;
pub use order_path::{OrderName, OrderPath};
pub use page::{AskedByName, ByName, Cursor, Page, Paging};
pub use params::{Id, Params};
pub use picture_body::PictureBody;
pub use pressure_body::{BesideLog, PressureBody};
pub use seen_version::{SeenIfSaid, SeenVersion};
pub use signed_in::SignedIn;
