//! Identifiers, one type per thing, so that they cannot be mixed up.

/// Declares an id type around a UUID (version 7, made by the acts).
macro_rules! ids {
    ($($(#[$outer:meta])* $name:ident,)+) => {$(
        $(#[$outer])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
        #[serde(transparent)]
        pub struct $name(
            /// The UUID itself.
            pub uuid::Uuid,
        );
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
    )+};
}

ids! {
    /// A shop.
    ShopId,
    /// A staff member in one shop.
    PersonId,
    /// A customer.
    CustomerId,
    /// An instrument.
    InstrumentId,
    /// A work order.
    WorkOrderId,
    /// A finding.
    FindingId,
    /// An operation.
    OperationId,
    /// A quote version.
    QuoteId,
    /// A decision.
    DecisionId,
    /// A test.
    TestId,
    /// A fit check.
    FitCheckId,
    /// A letter.
    LetterId,
    /// A customer's link.
    LinkId,
    /// A hold.
    HoldId,
    /// A photo.
    PhotoId,
}
