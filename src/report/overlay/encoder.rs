//! Frames into an MP4 file, each with its own time.

use std::path::Path;

use ffmpeg_next as ffmpeg;
use opencv::core::{Mat, MatTraitConst, MatTraitConstManual};

use ffmpeg::format::Pixel;
use ffmpeg::frame::Video as Picture;
use ffmpeg::{Dictionary, Packet, Rational, codec, color, encoder, format};

use crate::media::Frame;
use crate::{Error, Result};

/// Ticks per second of the stamps: the customary clock of MPEG, which any frame rate divides well.
const TICKS: i32 = 90_000;

/// An MP4 file being written.
pub struct Encoder {
    output: format::context::Output,
    encoder: encoder::Video,
    size: [u32; 2],
    last_tick: i64,
    full_range: bool,
}

impl Encoder {
    /// A file for pictures of `[width, height]` px; an odd last column or row is left off, since the
    /// format wants even sizes.
    pub fn new(path: &Path, [width, height]: [u32; 2], full_range: bool) -> Result<Self> {
        let size = [width & !1, height & !1];
        let codec = encoder::find_by_name("libx264")
            .or_else(|| encoder::find(codec::Id::H264))
            .or_else(|| encoder::find(codec::Id::MPEG4))
            .ok_or_else(|| Error::Video("FFmpeg has no encoder for MP4 here".into()))?;
        let mut output = format::output(path).map_err(failed)?;
        let mut video = codec::context::Context::new_with_codec(codec)
            .encoder()
            .video()
            .map_err(failed)?;
        video.set_width(size[0]);
        video.set_height(size[1]);
        video.set_format(Pixel::YUV420P);
        video.set_time_base(Rational(1, TICKS));
        video.set_gop(60);
        if full_range {
            video.set_color_range(color::Range::JPEG);
        }
        if output
            .format()
            .flags()
            .contains(format::Flags::GLOBAL_HEADER)
        {
            video.set_flags(codec::Flags::GLOBAL_HEADER);
        }
        let mut options = Dictionary::new();
        options.set("preset", "veryfast");
        options.set("crf", "20");
        let encoder = video.open_with(options).map_err(failed)?;
        let mut stream = output.add_stream(codec).map_err(failed)?;
        stream.set_parameters(&encoder);
        stream.set_time_base(Rational(1, TICKS));
        output.write_header().map_err(failed)?;
        Ok(Encoder {
            output,
            encoder,
            size,
            last_tick: -1,
            full_range,
        })
    }

    /// Adds a frame that is shown from `t_s` on.
    pub fn add(&mut self, frame: &Frame, t_s: f64) -> Result<()> {
        let mut picture = Picture::new(Pixel::YUV420P, self.size[0], self.size[1]);
        if self.full_range {
            picture.set_color_range(color::Range::JPEG);
        }
        copy(&frame.luma, &mut picture, 0)?;
        copy(&frame.cb, &mut picture, 1)?;
        copy(&frame.cr, &mut picture, 2)?;
        // Stamps must rise.
        let tick = ((t_s * f64::from(TICKS)).round() as i64).max(self.last_tick + 1);
        self.last_tick = tick;
        picture.set_pts(Some(tick));
        self.encoder.send_frame(&picture).map_err(failed)?;
        self.write_packets()
    }

    /// Ends the file.
    pub fn finish(mut self) -> Result<()> {
        self.encoder.send_eof().map_err(failed)?;
        self.write_packets()?;
        self.output.write_trailer().map_err(failed)
    }

    fn write_packets(&mut self) -> Result<()> {
        let to = match self.output.stream(0) {
            Some(stream) => stream.time_base(),
            None => return Err(Error::Video("the overlay has no picture stream".into())),
        };
        let mut packet = Packet::empty();
        loop {
            match self.encoder.receive_packet(&mut packet) {
                Ok(()) => {}
                // it wants the next picture, or has given all
                Err(
                    ffmpeg::Error::Eof
                    | ffmpeg::Error::Other {
                        errno: ffmpeg::error::EAGAIN,
                    },
                ) => {
                    return Ok(());
                }
                Err(fault) => return Err(failed(fault)),
            }
            packet.set_stream(0);
            packet.rescale_ts(Rational(1, TICKS), to);
            packet.write_interleaved(&mut self.output).map_err(failed)?;
        }
    }
}

fn copy(from: &Mat, picture: &mut Picture, plane: usize) -> Result<()> {
    let (width, height) = (
        picture.plane_width(plane) as usize,
        picture.plane_height(plane) as usize,
    );
    let stride = picture.stride(plane);
    let data = picture.data_mut(plane);
    for row in 0..height.min(from.rows().max(0) as usize) {
        let source = from.at_row::<u8>(row as i32)?;
        let columns = width.min(source.len());
        data[row * stride..row * stride + columns].copy_from_slice(&source[..columns]);
    }
    Ok(())
}

fn failed(e: ffmpeg::Error) -> Error {
    Error::Video(format!("the overlay cannot be encoded: {e}"))
}
