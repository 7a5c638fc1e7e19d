//! What earlier versions of the templates had otherwise: a map saved then was copied from them.
//!
//! Mended whenever a map is read, not once in a migration: whether a name still stands where its
//! template had it hangs on the template's own line, which SQL does not know, and a map is replaced
//! whole, so that a screen opened before would bring the old places back for good.

use super::template_of;
use crate::maps::part_map::{Layout, PartMap, Point};
use crate::words::instrument::Family;

/// Sheets that were too small for their names.
const SHEETS: &[(Family, f64, f64)] = &[(Family::Baritone, 640.0, 500.0), (Family::Tuba, 640.0, 520.0)];

/// A part by its family and id, and where its name was written; none: it had none.
type FormerLabel = (Family, &'static str, Option<(f64, f64)>);

const LABELS: &[FormerLabel] = &[
    (Family::Baritone, "leadpipe", Some((300.0, 490.0))),
    (Family::Baritone, "upper-branch", Some((330.0, 290.0))),
    (Family::Saxophone, "bell", Some((470.0, 300.0))),
    (Family::Trombone, "tuning-slide", Some((20.0, 240.0))),
    (Family::Trombone, "bell", Some((300.0, 56.0))),
    (Family::Flugelhorn, "tuning-slide", Some((52.0, 262.0))),
    (Family::Horn, "first-branch", Some((36.0, 30.0))),
];

/// A stored map with names and sheet where its family's template has them now, as far as they stand
/// as an earlier template had them: what somebody placed otherwise stays.
#[must_use]
pub fn with_mended_places(mut map: PartMap) -> PartMap {
    let template = template_of(map.family);
    let sheet = map.sheet;
    if SHEETS.iter().any(|&(family, width, height)| (family, width, height) == (map.family, sheet.width, sheet.height)) {
        map.sheet = template.sheet;
    }
    let family = map.family;
    for part in &mut map.parts {
        let now = template.parts.iter().find(|one| one.id == part.id).and_then(|one| one.layout.as_ref());
        let (Some(own), Some(now)) = (&mut part.layout, now) else { continue };
        // A name belongs to the line it was placed for.
        if own.line == now.line && LABELS.iter().any(|&(of, id, was)| of == family && id == part.id && is_at(own, was)) {
            own.label = now.label;
        }
    }
    map
}

fn is_at(layout: &Layout, place: Option<(f64, f64)>) -> bool {
    layout.label == place.map(|(x, y)| Point { x, y })
}
