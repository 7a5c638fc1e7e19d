//! Pictures as a camera makes them, drawn here.

use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use std::io::Cursor;

fn drawn(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
    let part = |at: u32, of: u32| u8::try_from(at * 255 / of).unwrap();
    let picture = RgbImage::from_fn(width, height, |x, y| Rgb([part(x, width), part(y, height), 90]));
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(picture).write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// A JPEG of this size, red to the right and green to the foot.
pub fn jpeg(width: u32, height: u32) -> Vec<u8> {
    drawn(width, height, ImageFormat::Jpeg)
}

/// The same as PNG.
pub fn png(width: u32, height: u32) -> Vec<u8> {
    drawn(width, height, ImageFormat::Png)
}

/// A JPEG as a phone writes it: held sideways (turned by 90° to be upright), with the place where it
/// was taken, the camera's name, XMP, and a second picture behind its end.
pub fn from_a_phone(width: u32, height: u32) -> Vec<u8> {
    let plain = jpeg(width, height);
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [tag.to_be_bytes().as_slice(), &kind.to_be_bytes(), &count.to_be_bytes(), &value].concat()
    };
    // TIFF 6.0: the head, three entries, then what they point to.
    let (make, gps) = (50_u32, 64_u32);
    let mut tiff = b"MM\0\x2a\0\0\0\x08\0\x03".to_vec();
    tiff.extend(entry(0x010f, 2, 12, make.to_be_bytes()));
    tiff.extend(entry(0x0112, 3, 1, [0, 6, 0, 0]));
    tiff.extend(entry(0x8825, 4, 1, gps.to_be_bytes()));
    tiff.extend(0_u32.to_be_bytes());
    tiff.extend(b"CANARY-MAKE\0\0\0");
    assert_eq!(tiff.len(), gps as usize);
    tiff.extend(2_u16.to_be_bytes());
    tiff.extend(entry(1, 2, 2, *b"N\0\0\0"));
    tiff.extend(entry(2, 5, 3, (gps + 2 + 24 + 4).to_be_bytes()));
    tiff.extend(0_u32.to_be_bytes());
    for (numerator, denominator) in [(52_u32, 1_u32), (31, 1), (1234, 100)] {
        tiff.extend(numerator.to_be_bytes());
        tiff.extend(denominator.to_be_bytes());
    }
    let segment = |content: Vec<u8>| [&[0xff, 0xe1], u16::try_from(content.len() + 2).unwrap().to_be_bytes().as_slice(), &content].concat();
    [
        &plain[..2],
        &segment([b"Exif\0\0".as_slice(), &tiff].concat()),
        &segment(b"http://ns.adobe.com/xap/1.0/\0<x:CANARY-XMP/>".to_vec()),
        &plain[2..],
        &plain,
        b"CANARY-TRAILER",
    ]
    .concat()
}
