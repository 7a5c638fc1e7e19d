//! The sizes in which a photo is kept.

use crate::words::spelling::spelt;

spelt! {
    /// A size of a photo.
    PhotoSize {
        /// For a list: 480 pixels at most on its longer side.
        Small = "480",
        /// To look at: 1600 pixels at most on its longer side.
        Large = "1600",
        /// As it came, without what told of the place and the camera.
        Original = "original",
    }
}

impl PhotoSize {
    /// The most pixels on the longer side; none: as it came.
    #[must_use]
    pub fn longer_side_px(self) -> Option<u32> {
        match self {
            Self::Small => Some(480),
            Self::Large => Some(1600),
            Self::Original => None,
        }
    }

    /// Width and height in pixels of this size of a picture that is `width_px` by `height_px`: in its
    /// proportions, never larger than it came, and never nothing.
    #[must_use]
    pub fn of(self, width_px: u32, height_px: u32) -> (u32, u32) {
        let longer = width_px.max(height_px);
        match self.longer_side_px().filter(|most| *most < longer) {
            None => (width_px, height_px),
            Some(most) => {
                let part = |side: u32| {
                    let scaled = (u64::from(side) * u64::from(most) + u64::from(longer) / 2) / u64::from(longer);
                    u32::try_from(scaled).unwrap_or(most).max(1)
                };
                (part(width_px), part(height_px))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::PhotoSize;

    #[test]
    fn a_photo_keeps_its_proportions_and_is_never_made_larger() {
        assert_eq!(PhotoSize::Small.of(4032, 3024), (480, 360));
        assert_eq!(PhotoSize::Large.of(3024, 4032), (1200, 1600));
        assert_eq!(PhotoSize::Large.of(1600, 900), (1600, 900));
        assert_eq!(PhotoSize::Small.of(300, 200), (300, 200));
        assert_eq!(PhotoSize::Small.of(50_000_000, 1), (480, 1));
        assert_eq!(PhotoSize::Original.of(4032, 3024), (4032, 3024));
    }
}
