//! The papers by size, and the style sheet of each. A sheet of its own for each: what a printer
//! is told of its paper stands in `@page`, and not every browser knows named pages.

use std::fmt::Write;

/// A paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sheet {
    /// A label of 62 × 100 mm, for the case.
    Label,
    /// A tag of A6 with hole and stub, for the instrument.
    Tag,
    /// A receipt on A4.
    ReceiptA4,
    /// A receipt on A5.
    ReceiptA5,
}

/// Every paper.
pub const SHEETS: [Sheet; 4] = [Sheet::Label, Sheet::Tag, Sheet::ReceiptA4, Sheet::ReceiptA5];

impl Sheet {
    /// Its name in addresses and in the sheet.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Label => "label",
            Self::Tag => "tag",
            Self::ReceiptA4 => "receipt-a4",
            Self::ReceiptA5 => "receipt-a5",
        }
    }

    /// Its whole style sheet.
    #[must_use]
    pub fn css(self) -> &'static str {
        macro_rules! sheet {
            ($page:literal, $own:literal) => {
                concat!("@page{", $page, "}\n", include_str!("paper.css"), include_str!($own))
            };
        }
        match self {
            Self::Label => sheet!("size:62mm 100mm;margin:0", "label.css"),
            Self::Tag => sheet!("size:105mm 148mm;margin:0", "tag.css"),
            Self::ReceiptA4 => sheet!("size:A4;margin:16mm", "receipt.css"),
            Self::ReceiptA5 => sheet!("size:A5;margin:11mm", "receipt.css"),
        }
    }

    /// Where its sheet is served. The address changes with the content (64 bits of FNV-1a, which
    /// is no secret), so that a browser may keep it for good.
    #[must_use]
    pub fn address(self) -> String {
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in self.css().bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
        let mut address = format!("/assets/paper-{}.css?", self.name());
        // Writing to a string cannot fail.
        let _ = write!(address, "{hash:016x}");
        address
    }
}
