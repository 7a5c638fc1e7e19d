//! Part maps: an instrument as a graph of parts and joints, with a layout to draw it.
//!
//! * `part_map`: the types, what is wrong with a map, and which parts hang loose.
//! * `templates`: one map for every family, with typical dimensions.
//! * `line`: corner points with bend radii become a sampled centre line.
//! * `scene`: every part in its place on the sheet.
//! * `labels`: names and measures beside the parts, and the room they take.
//! * `side`: which side of a part is meant, and where that lies.
//! * `pins`: where the heads of findings and counter marks stand.
//! * `drawing`: the map as a tree of SVG elements; read this first to change how it looks.
//! * `element`: that tree, and how it is written as text.
//! * `amending`: what a technician measures, adds, strikes and names anew.

mod amending;
mod drawing;
mod element;
mod labels;
mod line;
mod part_map;
mod pins;
mod scene;
mod side;
mod templates;

pub use amending::{DiameterChange, JointChange, NewJoint, NewPart, PartChange, PartMapChange, amend, replace};
pub use drawing::{Drawing, draw};
pub use element::SvgElement;
pub use part_map::{
    Basis, Corner, Finish, Joint, JointKind, Layout, MapFault, Material, Measure, Part, PartKind, PartMap, PartPlace,
    Pinned, Point, Seam, Seat, Sheet, Station,
};
pub use labels::Area;
pub use pins::{CounterMark, Pin, PlacedPin, Spot, Standing, label_areas, place};
pub use side::Side;
pub use templates::{template, template_of, with_mended_places};
