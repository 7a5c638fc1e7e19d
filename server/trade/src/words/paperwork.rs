//! Customers, quotes, decisions, payments, letters and links.

use super::spelling::spelt;

spelt! {
    /// What a customer is.
    CustomerKind {
        /// A person.
        Person = "person",
        /// A school.
        School = "school",
        /// A dealer.
        Dealer = "dealer",
    }
}

spelt! {
    /// Which letters a customer wants.
    MailWanted {
        /// At every change.
        EveryChange = "every_change",
        /// Only when the shop asks something.
        OnlyWhenAsked = "only_when_asked",
    }
}

spelt! {
    /// What a quote line is for.
    LineKind {
        /// Labour.
        Labour = "labour",
        /// Material.
        Material = "material",
        /// Outside work.
        OutsideWork = "outside_work",
        /// Rush.
        Rush = "rush",
    }
}

spelt! {
    /// Where a quote version stands.
    QuoteState {
        /// Being written.
        Draft = "draft",
        /// Sent; the owner may answer it.
        Sent = "sent",
        /// The owner said yes or no.
        Answered = "answered",
        /// A newer version has gone out.
        Superseded = "superseded",
        /// Taken back by the shop.
        Struck = "struck",
        /// Its time ran out.
        Expired = "expired",
    }
}

spelt! {
    /// What the owner said.
    Answer {
        /// Yes.
        Accepted = "accepted",
        /// No.
        Declined = "declined",
        /// A question first.
        Questions = "questions",
    }
}

spelt! {
    /// How an answer reached the shop.
    AnswerHow {
        /// By the owner's own link.
        Link = "link",
        /// By telephone.
        Phone = "phone",
        /// At the counter.
        InPerson = "in_person",
        /// By what was authorised at the counter.
        Beforehand = "beforehand",
    }
}

spelt! {
    /// What a payment is for.
    PaymentKind {
        /// A deposit.
        Deposit = "deposit",
        /// The balance.
        Balance = "balance",
        /// Charged to the customer's account.
        Account = "account",
    }
}

spelt! {
    /// How it was paid.
    PaymentHow {
        /// Cash.
        Cash = "cash",
        /// Card, on the shop's own terminal.
        Card = "card",
        /// Bank transfer.
        Transfer = "transfer",
        /// On account.
        Account = "account",
    }
}

spelt! {
    /// Where a letter stands.
    LetterState {
        /// In the outbox.
        Waiting = "waiting",
        /// A sender has it.
        Sending = "sending",
        /// The mail server took it.
        Sent = "sent",
        /// The server's answer after the final dot was lost.
        Unknown = "unknown",
        /// Refused for good.
        Bounced = "bounced",
        /// Tried for days.
        GivenUp = "given_up",
        /// Nobody wanted it; the reason says why.
        NotWanted = "not_wanted",
    }
}

spelt! {
    /// How a telephone call went.
    CallOutcome {
        /// Nobody answered.
        NoAnswer = "no_answer",
        /// A message was left.
        LeftMessage = "left_message",
        /// Somebody was spoken with.
        Spoke = "spoke",
    }
}

spelt! {
    /// What a customer's link opens.
    LinkPurpose {
        /// The status page.
        Status = "status",
        /// The answer page of a quote.
        Answer = "answer",
    }
}
