//! A picture as it was sent: what it is, the original without what tells of its place, and its
//! smaller copies. Pure: bytes in, bytes out.
//!
//! The original is not encoded anew. Its image data stays as the camera wrote it; of what stands
//! beside it only that is kept which is needed to show it (colours, and which side is up). So
//! nothing is lost that a zoom may need, and whatever a camera will write tomorrow, of places,
//! people or itself, is left out without being known by name: EXIF, XMP, IPTC, comments, previews,
//! and what phones hang on behind the end of the picture.

use image::codecs::jpeg::{JpegDecoder, JpegEncoder};
use image::codecs::png::PngDecoder;
use image::metadata::Orientation;
use image::{ColorType, DynamicImage, ImageDecoder, ImageEncoder, ImageError, Limits};
use sha2::{Digest, Sha256};
use std::io::Cursor;
use trade::words::photo::PhotoSize;

/// The most a picture may hold, in bytes.
pub const MOST_BYTES: usize = 20 * 1024 * 1024;

/// The most a picture may hold, in pixels; read from its head before it is unpacked.
pub const MOST_PIXELS: u64 = 50_000_000;

/// The most a picture may take unpacked, in bytes: four for each of the most pixels.
const MOST_UNPACKED: u64 = 4 * MOST_PIXELS;

/// Quality of the copies, of 100.
const QUALITY: u8 = 82;

/// A picture, ready to be kept.
#[derive(Clone, PartialEq, Eq)]
pub struct Picture {
    /// Of the original.
    pub media_type: &'static str,
    /// Held upright, in pixels.
    pub width_px: u32,
    /// Held upright, in pixels.
    pub height_px: u32,
    /// As it came, without what tells of its place.
    pub original: Vec<u8>,
    /// Of the original, in small hexadecimal letters.
    pub sha256: String,
    /// [`PhotoSize::Large`], as JPEG.
    pub large: Vec<u8>,
    /// [`PhotoSize::Small`], as JPEG.
    pub small: Vec<u8>,
}

impl std::fmt::Debug for Picture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Picture({} × {} px, {} bytes)", self.width_px, self.height_px, self.original.len())
    }
}

/// Why something is no picture that can be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPicture {
    /// As iPhones keep their photos.
    Heic,
    /// Another kind of file.
    OtherKind,
    /// More pixels than may be.
    TooManyPixels {
        /// By its head.
        width_px: u32,
        /// By its head.
        height_px: u32,
    },
    /// It cannot be read to its end.
    Broken,
}

/// The two kinds of pictures that are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    Jpeg,
    Png,
}

const PNG_SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// What kind of file this is, by its first bytes; what its name says counts for nothing.
fn format_of(bytes: &[u8]) -> Result<Format, NoPicture> {
    if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        return Ok(Format::Jpeg);
    }
    if bytes.starts_with(PNG_SIGNATURE) {
        return Ok(Format::Png);
    }
    let is_heic = bytes.get(4..8) == Some(b"ftyp")
        && bytes.get(8..12).is_some_and(|brand| [b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1"].iter().any(|known| brand == known.as_slice()));
    Err(if is_heic { NoPicture::Heic } else { NoPicture::OtherKind })
}

/// How many pixels a picture has by its head, without unpacking it.
///
/// # Errors
/// [`NoPicture`], also when they are too many.
pub fn pixels(bytes: &[u8]) -> Result<u64, NoPicture> {
    match format_of(bytes)? {
        Format::Jpeg => sized(&jpeg(bytes)?),
        Format::Png => sized(&png(bytes)?),
    }
}

/// Reads a picture: checks it, strips the original and makes the copies. It holds the unpacked
/// pixels meanwhile, three or four bytes for each.
///
/// # Errors
/// [`NoPicture`].
pub fn read(bytes: &[u8]) -> Result<Picture, NoPicture> {
    let format = format_of(bytes)?;
    let (unpacked, upright, colours) = match format {
        Format::Jpeg => unpack(jpeg(bytes)?)?,
        Format::Png => unpack(png(bytes)?)?,
    };
    let original = match format {
        Format::Jpeg => stripped_jpeg(bytes, upright),
        Format::Png => stripped_png(bytes, upright),
    }
    .ok_or(NoPicture::Broken)?;
    let (width, height) = (unpacked.width(), unpacked.height());
    let mut large = scaled(unpacked, PhotoSize::Large);
    large.apply_orientation(upright);
    let is_turned = matches!(upright, Orientation::Rotate90 | Orientation::Rotate270 | Orientation::Rotate90FlipH | Orientation::Rotate270FlipH);
    let (width_px, height_px) = if is_turned { (height, width) } else { (width, height) };
    let large_jpeg = encoded(&large, colours.as_deref()).ok_or(NoPicture::Broken)?;
    let small = scaled(large, PhotoSize::Small);
    let small_jpeg = encoded(&small, colours.as_deref()).ok_or(NoPicture::Broken)?;
    let sha256 = Sha256::digest(&original).iter().map(|byte| format!("{byte:02x}")).collect();
    Ok(Picture {
        media_type: match format {
            Format::Jpeg => "image/jpeg",
            Format::Png => "image/png",
        },
        width_px,
        height_px,
        original,
        sha256,
        large: large_jpeg,
        small: small_jpeg,
    })
}

fn jpeg(bytes: &[u8]) -> Result<JpegDecoder<Cursor<&[u8]>>, NoPicture> {
    JpegDecoder::new(Cursor::new(bytes)).map_err(|_| NoPicture::Broken)
}

fn png(bytes: &[u8]) -> Result<PngDecoder<Cursor<&[u8]>>, NoPicture> {
    let mut limits = Limits::default();
    limits.max_alloc = Some(2 * MOST_UNPACKED);
    PngDecoder::with_limits(Cursor::new(bytes), limits).map_err(|_| NoPicture::Broken)
}

/// Its pixels, which are not too many.
fn sized(picture: &impl ImageDecoder) -> Result<u64, NoPicture> {
    let (width_px, height_px) = picture.dimensions();
    let pixels = u64::from(width_px) * u64::from(height_px);
    if pixels > MOST_PIXELS || picture.total_bytes() > MOST_UNPACKED {
        return Err(NoPicture::TooManyPixels { width_px, height_px });
    }
    if pixels == 0 { Err(NoPicture::Broken) } else { Ok(pixels) }
}

/// The picture in red, green and blue, which side of it is up, and what its colours mean.
fn unpack(mut packed: impl ImageDecoder) -> Result<(DynamicImage, Orientation, Option<Vec<u8>>), NoPicture> {
    sized(&packed)?;
    let upright = packed.orientation().unwrap_or(Orientation::NoTransforms);
    let is_rgb = matches!(packed.color_type(), ColorType::Rgb8 | ColorType::Rgba8 | ColorType::Rgb16 | ColorType::Rgba16);
    let colours = packed.icc_profile().ok().flatten().filter(|_| is_rgb);
    let unpacked = DynamicImage::from_decoder(packed).map_err(|cause| match cause {
        ImageError::Limits(_) => NoPicture::TooManyPixels { width_px: 0, height_px: 0 },
        _ => NoPicture::Broken,
    })?;
    Ok((DynamicImage::ImageRgb8(unpacked.into_rgb8()), upright, colours))
}

fn scaled(picture: DynamicImage, size: PhotoSize) -> DynamicImage {
    let (width, height) = size.of(picture.width(), picture.height());
    if (width, height) == (picture.width(), picture.height()) { picture } else { picture.thumbnail_exact(width, height) }
}

fn encoded(picture: &DynamicImage, colours: Option<&[u8]>) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, QUALITY);
    if let Some(colours) = colours {
        // A profile too large for its place is left out; the colours are then a little off.
        let _ = encoder.set_icc_profile(colours.to_vec());
    }
    encoder.write_image(picture.as_bytes(), picture.width(), picture.height(), picture.color().into()).ok()?;
    Some(bytes)
}

/// An Exif block (TIFF, one entry) that says which side is up and nothing else.
fn which_side_is_up(upright: Orientation) -> Vec<u8> {
    let mut block = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    block.extend_from_slice(&[upright.to_exif(), 0, 0, 0, 0, 0, 0]);
    block
}

/// A JPEG with its image data as it came, and of what stands beside it the colour profile and how
/// the colours are coded; none when it has no end (ISO/IEC 10918-1, annex B).
fn stripped_jpeg(bytes: &[u8], upright: Orientation) -> Option<Vec<u8>> {
    const SOI: u8 = 0xd8;
    const EOI: u8 = 0xd9;
    const SOS: u8 = 0xda;
    let mut kept = vec![0xff, SOI];
    if upright != Orientation::NoTransforms {
        let block = [b"Exif\0\0".as_slice(), &which_side_is_up(upright)].concat();
        kept.extend_from_slice(&[0xff, 0xe1]);
        kept.extend_from_slice(&u16::try_from(block.len() + 2).ok()?.to_be_bytes());
        kept.extend_from_slice(&block);
    }
    let mut at = 2;
    loop {
        // Any number of fill bytes may stand before a marker.
        while *bytes.get(at)? == 0xff && *bytes.get(at + 1)? == 0xff {
            at += 1;
        }
        if *bytes.get(at)? != 0xff {
            return None;
        }
        let marker = *bytes.get(at + 1)?;
        at += 2;
        if marker == EOI {
            kept.extend_from_slice(&[0xff, EOI]);
            return Some(kept);
        }
        let length = usize::from(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]));
        let segment = bytes.get(at..at + length)?;
        let content = segment.get(2..)?;
        at += length;
        let is_kept = match marker {
            0xe2 => content.starts_with(b"ICC_PROFILE\0"),
            0xee => content.starts_with(b"Adobe") && content.len() <= 12,
            // Frames, tables and scans, and nothing else that a file may say of itself.
            0xc0..=0xc7 | 0xc9..=0xcf | 0xda..=0xdf => true,
            _ => false,
        };
        if is_kept {
            kept.extend_from_slice(&[0xff, marker]);
            kept.extend_from_slice(segment);
        }
        if marker == SOS {
            // Coded data goes on to the next marker that is no restart; 0xff is coded as 0xff 0x00.
            let begun = at;
            while *bytes.get(at)? != 0xff || matches!(*bytes.get(at + 1)?, 0x00 | 0xd0..=0xd7) {
                at += 1;
            }
            kept.extend_from_slice(bytes.get(begun..at)?);
        }
    }
}

/// A PNG with the chunks that are needed to show it, as they came; none when it has no end (W3C
/// PNG, third edition, 5.3).
fn stripped_png(bytes: &[u8], upright: Orientation) -> Option<Vec<u8>> {
    const NEEDED: [&[u8]; 12] =
        [b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"cICP", b"sBIT", b"pHYs"];
    let mut kept = PNG_SIGNATURE.to_vec();
    let mut at = PNG_SIGNATURE.len();
    loop {
        let length = usize::try_from(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?)).ok()?;
        let kind = bytes.get(at + 4..at + 8)?;
        let end = at.checked_add(length)?.checked_add(12)?;
        let chunk = bytes.get(at..end)?;
        at = end;
        if NEEDED.contains(&kind) {
            kept.extend_from_slice(chunk);
        }
        if kind == b"IHDR" && upright != Orientation::NoTransforms {
            kept.extend_from_slice(&chunk_of(b"eXIf", &which_side_is_up(upright))?);
        }
        if kind == b"IEND" {
            return Some(kept);
        }
    }
}

fn chunk_of(kind: &[u8; 4], content: &[u8]) -> Option<Vec<u8>> {
    let mut chunk = u32::try_from(content.len()).ok()?.to_be_bytes().to_vec();
    chunk.extend_from_slice(kind);
    chunk.extend_from_slice(content);
    let sum = crc(chunk.get(4..)?);
    chunk.extend_from_slice(&sum.to_be_bytes());
    Some(chunk)
}

/// The check sum of a chunk (W3C PNG, third edition, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| if sum & 1 == 1 { 0xedb8_8320 ^ (sum >> 1) } else { sum >> 1 })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ImageFormat, Rgb, RgbImage};

    fn drawn(width: u32, height: u32) -> DynamicImage {
        DynamicImage::ImageRgb8(RgbImage::from_fn(width, height, |x, y| {
            Rgb([u8::try_from(x * 255 / width).unwrap(), u8::try_from(y * 255 / height).unwrap(), 90])
        }))
    }

    fn packed(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        drawn(width, height).write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    /// A camera's Exif: which side is up, and a place in a GPS block behind it.
    fn exif(upright: u8) -> Vec<u8> {
        let mut tiff = b"MM\0\x2a\0\0\0\x08\0\x02\x01\x12\0\x03\0\0\0\x01\0".to_vec();
        tiff.extend_from_slice(&[upright, 0, 0]);
        tiff.extend_from_slice(b"\x88\x25\0\x04\0\0\0\x01\0\0\0\x26\0\0\0\0");
        tiff.extend_from_slice(b"\0\x01\0\x01\0\x02\0\0\0\x02N\0\0\0\0\0\0\0GPS-CANARY");
        tiff
    }

    fn with_segment(jpeg: &[u8], marker: u8, content: &[u8]) -> Vec<u8> {
        let length = u16::try_from(content.len() + 2).unwrap().to_be_bytes();
        [&jpeg[..2], &[0xff, marker], &length, content, &jpeg[2..]].concat()
    }

    fn holds(bytes: &[u8], word: &[u8]) -> bool {
        bytes.windows(word.len()).any(|window| window == word)
    }

    #[test]
    fn a_jpeg_keeps_its_image_data_and_loses_what_tells_of_its_place() {
        let plain = packed(2000, 1000, ImageFormat::Jpeg);
        let mut sent = with_segment(&plain, 0xe1, &[b"Exif\0\0".as_slice(), &exif(1)].concat());
        sent = with_segment(&sent, 0xe1, b"http://ns.adobe.com/xap/1.0/\0XMP-CANARY");
        sent = with_segment(&sent, 0xed, b"Photoshop 3.0\0IPTC-CANARY");
        sent = with_segment(&sent, 0xe2, b"MPF\0MPF-CANARY");
        sent = with_segment(&sent, 0xfe, b"COMMENT-CANARY");
        sent.extend_from_slice(b"TRAILER-CANARY");
        let picture = read(&sent).unwrap();
        for kept in [&picture.original, &picture.large, &picture.small] {
            assert!(!holds(kept, b"CANARY") && !holds(kept, b"Exif"));
        }
        let before = image::load_from_memory(&plain).unwrap();
        assert_eq!(image::load_from_memory(&picture.original).unwrap().as_bytes(), before.as_bytes());
        assert_eq!((picture.media_type, picture.width_px, picture.height_px), ("image/jpeg", 2000, 1000));
        let size = |bytes: &[u8]| image::load_from_memory(bytes).map(|image| (image.width(), image.height())).unwrap();
        assert_eq!((size(&picture.large), size(&picture.small)), ((1600, 800), (480, 240)));
    }

    #[test]
    fn a_picture_taken_sideways_is_upright_and_its_original_still_says_which_side_is_up() {
        let jpeg = with_segment(&packed(600, 300, ImageFormat::Jpeg), 0xe1, &[b"Exif\0\0".as_slice(), &exif(6)].concat());
        let picture = read(&jpeg).unwrap();
        assert_eq!((picture.width_px, picture.height_px), (300, 600));
        let small = image::load_from_memory(&picture.small).unwrap().into_rgb8();
        assert_eq!((small.width(), small.height()), (240, 480));
        // Turned by 90° to the right, what was on the left is at the top.
        assert!(small.get_pixel(120, 5)[0] < 30 && small.get_pixel(120, 475)[0] > 220);
        let mut kept = JpegDecoder::new(Cursor::new(&picture.original)).unwrap();
        assert_eq!(kept.orientation().unwrap(), Orientation::Rotate90);
        assert!(!holds(&picture.original, b"CANARY"));
    }

    #[test]
    fn a_png_keeps_what_shows_it_and_loses_the_rest() {
        let plain = packed(700, 500, ImageFormat::Png);
        let after_head = 8 + 25;
        let more = [chunk_of(b"eXIf", &exif(3)).unwrap(), chunk_of(b"tEXt", b"Comment\0TEXT-CANARY").unwrap()].concat();
        let sent = [&plain[..after_head], &more, &plain[after_head..], b"TRAILER-CANARY"].concat();
        let picture = read(&sent).unwrap();
        assert!(!holds(&picture.original, b"CANARY"));
        assert_eq!((picture.media_type, picture.width_px, picture.height_px), ("image/png", 700, 500));
        let mut kept = PngDecoder::new(Cursor::new(&picture.original)).unwrap();
        assert_eq!(kept.orientation().unwrap(), Orientation::Rotate180);
        let before = image::load_from_memory(&plain).unwrap();
        assert_eq!(image::load_from_memory(&picture.original).unwrap().as_bytes(), before.as_bytes());
    }

    #[test]
    fn too_many_pixels_are_seen_in_the_head() {
        // 60,000 by 60,000 pixels in a few dozen bytes: the head of a PNG with nothing behind it.
        let head = [60_000_u32.to_be_bytes(), 60_000_u32.to_be_bytes()].concat();
        let flood = [PNG_SIGNATURE, &chunk_of(b"IHDR", &[head.as_slice(), &[8, 2, 0, 0, 0]].concat()).unwrap(), &chunk_of(b"IDAT", b"").unwrap()].concat();
        assert_eq!(read(&flood), Err(NoPicture::TooManyPixels { width_px: 60_000, height_px: 60_000 }));
        let mut jpeg = packed(64, 64, ImageFormat::Jpeg);
        let frame = jpeg.windows(2).position(|pair| pair == [0xff, 0xc0]).unwrap();
        jpeg[frame + 5..frame + 9].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
        assert_eq!(pixels(&jpeg), Err(NoPicture::TooManyPixels { width_px: 60_000, height_px: 60_000 }));
    }

    #[test]
    fn what_is_no_picture_is_told_by_what_is_in_it() {
        assert_eq!(read(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"), Err(NoPicture::Heic));
        assert_eq!(read(b"GIF89a"), Err(NoPicture::OtherKind));
        assert_eq!(read(b""), Err(NoPicture::OtherKind));
        let whole = packed(300, 200, ImageFormat::Jpeg);
        assert_eq!(read(&whole[..whole.len() / 2]), Err(NoPicture::Broken));
        let whole = packed(300, 200, ImageFormat::Png);
        assert_eq!(read(&whole[..whole.len() / 2]), Err(NoPicture::Broken));
    }

    #[test]
    fn whatever_is_cut_or_changed_is_refused_or_read_and_never_more() {
        let sent = with_segment(&packed(40, 30, ImageFormat::Jpeg), 0xe1, &[b"Exif\0\0".as_slice(), &exif(6)].concat());
        for at in 0..sent.len() {
            let _ = read(&sent[..at]);
            let mut other = sent.clone();
            other[at] ^= 0xff;
            if let Ok(picture) = read(&other) {
                assert!(!holds(&picture.original, b"GPS-CANARY"), "byte {at}");
            }
        }
    }
}
