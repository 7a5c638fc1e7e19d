//! The torch stays for ever: the worst case.

use super::model::Room;
use super::network::{Balance, DoesNotSettle, Network};

/// Temperatures of all points, °C, found to within 1e-6 K of the balance.
///
/// * `guess`: temperatures to start from; without any, the room's.
pub(super) fn temperatures(
    network: &Network,
    room: &Room,
    guess: Option<&[f64]>,
) -> Result<Vec<f64>, DoesNotSettle> {
    let mut t = match guess {
        Some(guess) => guess.to_vec(),
        None => vec![room.ambient_c; network.point_count()],
    };
    network.light_the_torch(&mut t);
    let balance = Balance { inertia: 0.0, source: None, torch: true, within_k: 1e-6 };
    network.settle(&balance, &mut t, &mut network.workspace())?;
    Ok(t)
}
