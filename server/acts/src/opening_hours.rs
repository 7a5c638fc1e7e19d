//! When a shop is open, in the words of a letter and of a customer's page.

use serde_json::Value;

const DAYS: [&str; 7] =
    ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// The hours of an ordinary week in words: `Monday to Friday 9–12:30 and 13:30–18, Saturday
/// 9–13`; none when no day has any. Single closed days are for the shop to tell.
#[must_use]
pub fn hours_in_words(calendar: &Value) -> Option<String> {
    let of_day = |day: &str| -> Vec<String> {
        let spans = calendar
            .get("weekly")
            .and_then(|week| week.get(day.to_lowercase()))
            .and_then(Value::as_array);
        spans
            .into_iter()
            .flatten()
            .filter_map(|span| {
                Some(format!(
                    "{}–{}",
                    clock(span.get("from")?.as_str()?),
                    clock(span.get("to")?.as_str()?)
                ))
            })
            .collect()
    };
    let mut runs: Vec<(usize, usize, Vec<String>)> = Vec::new();
    for (index, day) in DAYS.iter().enumerate() {
        let hours = of_day(day);
        if hours.is_empty() {
            continue;
        }
        match runs.last_mut() {
            Some((_, last, same)) if *last + 1 == index && *same == hours => *last = index,
            _ => runs.push((index, index, hours)),
        }
    }
    let said: Vec<String> = runs
        .into_iter()
        .map(|(first, last, hours)| {
            let days = if first == last {
                DAYS[first].to_owned()
            } else {
                format!("{} to {}", DAYS[first], DAYS[last])
            };
            format!("{days} {}", hours.join(" and "))
        })
        .collect();
    (!said.is_empty()).then(|| said.join(", "))
}

/// `09:00` as `9`, `12:30` as it stands.
fn clock(time: &str) -> &str {
    let time = time.strip_suffix(":00").unwrap_or(time);
    time.strip_prefix('0').filter(|rest| !rest.starts_with(':') && !rest.is_empty()).unwrap_or(time)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn days_with_the_same_hours_are_told_together() {
        let long = json!([{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}]);
        let week = json!({"weekly": {"monday": long, "tuesday": long, "wednesday": long, "friday": long,
            "saturday": [{"from": "09:00", "to": "13:00"}], "sunday": []}});
        assert_eq!(
            hours_in_words(&week).as_deref(),
            Some(
                "Monday to Wednesday 9–12:30 and 13:30–18, Friday 9–12:30 and 13:30–18, Saturday 9–13"
            )
        );
    }

    #[test]
    fn a_shop_without_hours_says_none() {
        assert_eq!(hours_in_words(&json!({"weekly": {}})), None);
        assert_eq!(hours_in_words(&json!(null)), None);
    }

    #[test]
    fn a_clock_is_told_short() {
        assert_eq!(
            ["00:00", "00:30", "09:05", "10:00", "24:00"].map(clock),
            ["0", "0:30", "9:05", "10", "24"]
        );
    }
}
