//! Stages of a work order, the reasons it moves, and whose turn it is.

use super::spelling::spelt;

spelt! {
    /// Where a work order stands; the order of the values is the order of the shop.
    Stage {
        /// Checked in, not yet examined.
        Intake = "intake",
        /// Being examined.
        Diagnosis = "diagnosis",
        /// Waiting for the owner's answer.
        Approval = "approval",
        /// Being worked on.
        Bench = "bench",
        /// Being tested for leaks.
        LeakTest = "leak_test",
        /// On the shelf, to be collected.
        Pickup = "pickup",
        /// Gone.
        Closed = "closed",
    }
}

spelt! {
    /// Why an order moved: the third part of a move of the table in DOMAIN.md.
    Because {
        /// Checked in at the counter.
        CheckedIn = "checked_in",
        /// The examination begins.
        ExaminationBegins = "examination_begins",
        /// The quote went out.
        QuoteSent = "quote_sent",
        /// Covered by what was authorised at the counter.
        CoveredBeforehand = "covered_beforehand",
        /// Nothing to repair, or not worth it.
        NothingToDo = "nothing_to_do",
        /// The owner said yes.
        Accepted = "accepted",
        /// The extra is declined, the work accepted before goes on.
        ExtraDeclined = "extra_declined",
        /// The shop took its quote back.
        Recalled = "recalled",
        /// The owner asks.
        Questions = "questions",
        /// The quote's time ran out.
        Expired = "expired",
        /// The owner said no.
        Declined = "declined",
        /// Extra work was found.
        ExtraWork = "extra_work",
        /// "This was a mistake."
        AcceptanceDisputed = "acceptance_disputed",
        /// The bench work is done.
        BenchDone = "bench_done",
        /// The test failed.
        TestFailed = "test_failed",
        /// Every required test passed.
        TestsPassed = "tests_passed",
        /// Let go on the proprietor's word.
        Overridden = "overridden",
        /// Withdrawn by the customer.
        Withdrawn = "withdrawn",
        /// The owner never answered.
        Unanswered = "unanswered",
        /// Cannot be repaired after all.
        NotRepairable = "not_repairable",
        /// Sent back at the counter.
        SentBack = "sent_back",
        /// "Do it after all."
        Reopened = "reopened",
        /// Collected by the customer.
        Collected = "collected",
        /// Shipped to the customer.
        Shipped = "shipped",
        /// Kept, bought by the shop, scrapped or lost.
        OtherwiseSettled = "otherwise_settled",
        /// Entered by mistake.
        EnteredByMistake = "entered_by_mistake",
    }
}

spelt! {
    /// Whose turn it is. Derived, never stored.
    WaitsFor {
        /// The shop's turn.
        Shop = "shop",
        /// The customer's turn.
        Customer = "customer",
        /// A supplier's turn.
        Supplier = "supplier",
    }
}

spelt! {
    /// What a staff member may do; one person may hold several.
    Role {
        /// Checks in and out, talks to customers.
        FrontDesk = "front_desk",
        /// Examines, repairs, tests.
        Technician = "technician",
        /// Runs the shop.
        Proprietor = "proprietor",
    }
}

spelt! {
    /// Why an order is held, across stages.
    HoldReason {
        /// Waiting for parts.
        Parts = "parts",
        /// Away for outside work.
        OutsideWork = "outside_work",
        /// The customer asked to wait.
        Customer = "customer",
        /// The school's calendar.
        SchoolCalendar = "school_calendar",
        /// Something else, said in the note.
        Other = "other",
    }
}

impl HoldReason {
    /// Whom an order so held waits for.
    #[must_use]
    pub fn waits_for(self) -> WaitsFor {
        match self {
            Self::Parts | Self::OutsideWork => WaitsFor::Supplier,
            Self::Customer | Self::SchoolCalendar => WaitsFor::Customer,
            Self::Other => WaitsFor::Shop,
        }
    }
}
