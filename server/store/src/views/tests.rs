//! Leak and play tests, and fit checks.

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use super::PersonRef;
use trade::bench::fit_check::{FitAnswer, FitMeasured};
use trade::bench::pressure_test::PressureAnswer;
use trade::bench::shop_limits::FitKind;
use trade::words::ids::{FindingId, FitCheckId, TestId};
use trade::words::instrument::{HowMuch, TestKind, TestMethod, Verdict};
use trade::words::money::plain;
use utoipa::ToSchema;

views! {
    /// A place where it leaks, and how much.
    #[serde(deny_unknown_fields)]
    LeakSpot {
        /// On which part or joint, or which pad.
        part: String,
        /// Which side.
        #[serde(default)]
        side: Option<String>,
        /// Along the part, mm.
        #[serde(default, deserialize_with = "plain::optional")]
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        position_mm: Option<Decimal>,
        /// How much, as the bench says it.
        #[serde(default)]
        how_much: Option<HowMuch>,
        /// For a feeler: the thickest that slips under, mm.
        #[serde(default, deserialize_with = "plain::optional")]
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "0.05")]
        gap_mm: Option<Decimal>,
        /// For bubbles: how many in a minute.
        #[serde(default)]
        bubbles_per_minute: Option<u32>,
        /// In words.
        #[serde(default)]
        words: Option<String>,
    }
    /// A test.
    Test {
        /// Which.
        id: TestId,
        /// The version of the work order after it.
        order_version: i32,
        /// Leak test or play test.
        kind: TestKind,
        /// How.
        method: Option<TestMethod>,
        /// The whole instrument, or the part named.
        scope: String,
        /// Whether the whole instrument was tested; only that counts as the required test.
        of_whole_instrument: bool,
        /// What it said; none for a pressure test of a family without a leak limit.
        verdict: Option<Verdict>,
        /// Why a person's verdict is not the computed one.
        overruled_because: Option<String>,
        /// Where it fails.
        where_words: Option<String>,
        /// Where it leaks, and how much.
        spots: Vec<LeakSpot>,
        /// The finding that pins where it fails.
        finding_id: Option<FindingId>,
        /// Findings that the owner declined or that are left, and that the pass is apart from.
        apart_from: Vec<FindingId>,
        /// In words.
        note: Option<String>,
        /// Slugs of the cautions that go with the method.
        cautions: Vec<String>,
        /// Of a pressure decay test: rate, uncertainty, verdict and curve, as the server computed them.
        pressure: Option<PressureAnswer>,
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// A fit that was measured.
    FitCheck {
        /// Which.
        id: FitCheckId,
        /// The version of the work order after it.
        order_version: i32,
        /// What kind of fit.
        fit_kind: FitKind,
        /// Which part or joint.
        part: String,
        /// What was measured.
        measured: FitMeasured,
        /// What it says, as the server computed it.
        answer: FitAnswer,
        /// The finding it belongs to.
        finding_id: Option<FindingId>,
        /// In words.
        note: Option<String>,
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// A test that must pass before pickup.
    RequiredTest {
        /// Which kind.
        kind: TestKind,
        /// Whether it passed since the last arrival in the leak test.
        passed: bool,
    }
}
