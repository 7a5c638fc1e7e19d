//! Writes every family's part map into a folder, as SVG and JSON, to be judged by eye:
//! `cargo run -p bellbrace-trade --example part_maps -- FOLDER [pins]`.

use std::path::Path;
use trade::maps::{CounterMark, Drawing, Pin, Spot, Standing, draw, template};
use trade::words::instrument::{Disposition, Family};
use trade::words::spelling::Spelt;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut asked = std::env::args().skip(1);
    let folder = asked.next().ok_or("name a folder")?;
    let with_pins = asked.next().as_deref() == Some("pins");
    for family in Family::ALL {
        let map = template(*family);
        let step = (map.parts.len() / 7).max(1);
        let pins: Vec<Pin> = map
            .parts
            .iter()
            .step_by(step)
            .take(if with_pins { 7 } else { 0 })
            .zip(Disposition::ALL.iter().cycle())
            .zip(1..)
            .map(|((part, disposition), number)| Pin {
                finding: number.to_string(),
                head: if number == 3 { "W1".to_owned() } else { number.to_string() },
                words: format!("dent, {}", part.name),
                spot: Spot::Part { part: part.id.clone(), at_mm: Some(part.length.mm * 0.4), side: None },
                disposition: *disposition,
                standing: match number {
                    3 => Standing::Watched,
                    5 => Standing::Settled,
                    _ => Standing::ThisVisit,
                },
                in_hand: number == 2,
            })
            .collect();
        let marks: Vec<CounterMark> = map
            .parts
            .iter()
            .rev()
            .step_by(step)
            .take(if with_pins { 2 } else { 0 })
            .map(|part| CounterMark {
                id: part.id.clone(),
                letter: "D".to_owned(),
                words: format!("dent, {}", part.name),
                spot: Spot::Part { part: part.id.clone(), at_mm: None, side: None },
                in_hand: false,
            })
            .collect();
        let svg = draw(&Drawing {
            map: &map,
            pins: &pins,
            marks: &marks,
            title: &format!("Part map: {family}"),
            description: "The list beside it says the same in words.",
            id: family.spelling(),
            labels: true,
            buttons: with_pins,
        });
        std::fs::write(Path::new(&folder).join(format!("{family}.svg")), svg.svg_text())?;
        std::fs::write(Path::new(&folder).join(format!("{family}.json")), serde_json::to_string_pretty(&map)?)?;
    }
    Ok(())
}
