//! The thin layer over FFmpeg: a file in, decoded pictures with their stamps out.

use super::refusal;
use crate::{Error, Result};
use ffmpeg::codec::threading;
use ffmpeg::format::context::Input;
use ffmpeg::format::stream::Disposition;
use ffmpeg::frame::Video as Picture;
use ffmpeg::{Dictionary, Packet, Rational, ffi, media};
use ffmpeg_next as ffmpeg;
use std::path::Path;

/// Readers that are let near a file. Without this list FFmpeg would also play text files as
/// teletype art, and playlists that fetch other files.
const CONTAINERS: &str = "mov,matroska,webm,avi,mpegts,mpeg,asf,flv,ogg";
/// A decoder that fails this many times in a row while it hands out its last pictures has none.
const MOST_FAILURES_AT_END: usize = 256;

/// A picture is sought from its own stamp on, and from so much earlier, s: an index may go by the order of decoding, and
/// what follows a key picture may lean on what came before it.
const EARLIER_S: [f64; 3] = [0.0, 1.0, 4.0];

/// What the container says about its moving picture.
#[derive(Debug, Clone)]
pub struct StreamFacts {
    /// Short name of the codec, such as `h264`.
    pub codec: String,
    /// Seconds in one tick of its stamps.
    pub tick_s: f64,
    /// Frames per second that it claims.
    pub fps: f64,
    /// Frames that it claims.
    pub frames: Option<usize>,
    /// Length that it claims, s.
    pub duration_s: Option<f64>,
    /// Its start on the container's clock, s.
    pub start_s: f64,
    /// The display matrix as it lies in the file.
    pub display_matrix: Option<Vec<u8>>,
}

/// An open file and the decoder of its moving picture.
pub struct Decoder {
    input: Input,
    stream: usize,
    /// `None` after the end: it holds a dozen pictures
    decoder: Option<ffmpeg::decoder::Video>,
    packet: Packet,
    facts: StreamFacts,
    drained: bool,
    damaged: usize,
    broken_off: bool,
}

impl Decoder {
    /// Opens a file that [`refusal::check_file`] has let pass.
    ///
    /// # Errors
    /// [`Error::Unreadable`] if it is no clip, has no moving picture, or has one that cannot be
    /// decoded here.
    pub fn open(path: &Path) -> Result<Self> {
        let (mut input, stream) = open_input(path)?;
        only_read(&mut input, stream);
        let (decoder, facts) = {
            let chosen = input
                .stream(stream)
                .ok_or_else(|| refusal::no_picture(path))?;
            let codec = chosen.parameters().id().name().to_string();
            let cannot = |_| {
                Error::unreadable(
                    path,
                    format!("its picture ({codec}) cannot be decoded here"),
                    "save it as H.264 or HEVC",
                )
            };
            let mut context =
                ffmpeg::codec::Context::from_parameters(chosen.parameters()).map_err(cannot)?;
            context.set_threading(threading::Config {
                kind: threading::Type::Frame,
                ..threading::Config::count(decoding_threads())
            });
            let mut decoder = context.decoder();
            decoder.set_packet_time_base(chosen.time_base());
            (
                decoder.video().map_err(cannot)?,
                facts(&input, &chosen, &codec),
            )
        };
        Ok(Decoder {
            input,
            stream,
            decoder: Some(decoder),
            packet: Packet::empty(),
            facts,
            drained: false,
            damaged: 0,
            broken_off: false,
        })
    }

    /// What the container says.
    pub fn facts(&self) -> &StreamFacts {
        &self.facts
    }

    /// How many pieces of the file could not be decoded cleanly so far: at least these, for a
    /// decoder with several threads may hand a picture out before it marks it.
    pub fn damaged(&self) -> usize {
        self.damaged
    }

    /// Whether reading stopped before the file's end.
    pub fn broken_off(&self) -> bool {
        self.broken_off
    }

    /// Decodes the next picture into `picture`, in order of display; false at the end.
    /// Pieces that cannot be decoded are counted and left out.
    pub fn next(&mut self, picture: &mut Picture) -> bool {
        let mut failures = 0;
        while let Some(decoder) = &mut self.decoder {
            match decoder.receive_frame(picture) {
                Ok(()) => {
                    self.damaged += usize::from(is_damaged(picture));
                    return true;
                }
                Err(ffmpeg::Error::Other {
                    errno: ffmpeg::error::EAGAIN,
                }) => self.feed(),
                Err(ffmpeg::Error::Eof) => self.decoder = None,
                Err(_) if failures > MOST_FAILURES_AT_END => self.decoder = None,
                Err(_) => {
                    self.damaged += 1;
                    failures += usize::from(self.drained);
                }
            }
        }
        false
    }

    /// Goes to the picture with this stamp, in ticks, and decodes it; `None` where the file does not lead there.
    pub fn go_to(&mut self, ticks: i64) -> Option<Picture> {
        let tick_s = self.facts.tick_s;
        EARLIER_S.iter().find_map(|earlier_s| {
            self.sought(ticks, ticks.saturating_sub((earlier_s / tick_s) as i64))
        })
    }

    /// The picture with the stamp `ticks`, decoded from the last key picture at or before the stamp `from` on: what is shown
    /// before that picture, though it comes after it, is not whole.
    fn sought(&mut self, ticks: i64, from: i64) -> Option<Picture> {
        let (stream, backward) = (self.stream as i32, ffi::AVSEEK_FLAG_BACKWARD);
        // SAFETY: the context is alive, and the stream is one of its own.
        let sought = unsafe { ffi::av_seek_frame(self.input.as_mut_ptr(), stream, from, backward) };
        self.decoder.as_mut()?.flush();
        self.drained = false;
        let mut picture = Picture::empty();
        let mut whole = false;
        while sought >= 0 && self.next(&mut picture) && picture.timestamp()? <= ticks {
            whole |= picture.is_key();
            if picture.timestamp()? == ticks {
                return (whole && !is_damaged(&picture)).then_some(picture);
            }
        }
        None
    }

    /// Real sample aspect (width : height of a stored pixel) of a decoded picture; 1 if unknown.
    pub fn sample_aspect(&mut self, picture: &mut Picture) -> f64 {
        // SAFETY: context, stream and frame are alive and belong together; FFmpeg only reads them.
        let ratio = unsafe {
            let context = self.input.as_mut_ptr();
            let stream = *(*context).streams.add(self.stream);
            ffi::av_guess_sample_aspect_ratio(context, stream, picture.as_mut_ptr())
        };
        if ratio.num > 0 && ratio.den > 0 {
            f64::from(Rational::from(ratio))
        } else {
            1.0
        }
    }

    /// Gives the decoder the next piece of the file, or tells it that there is none.
    fn feed(&mut self) {
        while let Some(decoder) = &mut self.decoder {
            // reading into a packet does not let go of what it held
            self.packet = Packet::empty();
            match self.packet.read(&mut self.input) {
                Ok(()) if self.packet.stream() == self.stream => {
                    self.broken_off |= self.packet.is_corrupt();
                    self.damaged += usize::from(decoder.send_packet(&self.packet).is_err());
                    return;
                }
                Ok(()) => {}
                Err(ffmpeg::Error::Other {
                    errno: ffmpeg::error::EAGAIN,
                }) => {}
                Err(e) => {
                    self.broken_off |= e != ffmpeg::Error::Eof;
                    self.drained = true;
                    // It can only fail if the end was told before, and then nothing is lost.
                    let _ = decoder.send_eof();
                    return;
                }
            }
        }
    }
}

/// Stamps of all frames in container seconds, rising, read without decoding.
///
/// # Errors
/// As [`Decoder::open`].
pub fn stamps(path: &Path) -> Result<Vec<f64>> {
    let (mut input, stream) = open_input(path)?;
    only_read(&mut input, stream);
    let tick_s = input
        .stream(stream)
        .map_or(0.0, |s| f64::from(s.time_base()));
    let (mut packet, mut stamps) = (Packet::empty(), Vec::new());
    while packet.read(&mut input).is_ok() {
        let shown = packet.stream() == stream && !is_left_out(&packet);
        if let (true, Some(stamp)) = (shown, packet.pts().or(packet.dts())) {
            stamps.push(stamp as f64 * tick_s);
        }
        packet = Packet::empty();
    }
    stamps.sort_by(f64::total_cmp);
    Ok(stamps)
}

/// Opens the container and picks its moving picture.
fn open_input(path: &Path) -> Result<(Input, usize)> {
    // FFmpeg's own messages would stand beside our one line.
    ffmpeg::log::set_level(ffmpeg::log::Level::Quiet);
    let mut options = Dictionary::new();
    options.set("format_whitelist", CONTAINERS);
    options.set("protocol_whitelist", "file");
    let name = format!("file:{}", path.display());
    let input = ffmpeg::format::input_with_dictionary(&name, options)
        .map_err(|_| refusal::not_a_clip(path))?;
    let stream = input
        .streams()
        .best(media::Type::Video)
        .filter(|stream| !stream.disposition().contains(Disposition::ATTACHED_PIC))
        .map(|stream| stream.index())
        .ok_or_else(|| refusal::no_picture(path))?;
    Ok((input, stream))
}

/// Lets the container skip everything but one stream: sound costs time too.
fn only_read(input: &mut Input, stream: usize) {
    for index in (0..input.nb_streams() as usize).filter(|index| *index != stream) {
        // SAFETY: `index` is below the number of streams of a live context; `discard` is a plain
        // field that FFmpeg expects its caller to set before reading.
        unsafe {
            let other = *(*input.as_mut_ptr()).streams.add(index);
            (*other).discard = ffi::AVDiscard::AVDISCARD_ALL;
        }
    }
}

fn facts(input: &Input, stream: &ffmpeg::Stream, codec: &str) -> StreamFacts {
    let tick_s = f64::from(stream.time_base());
    let rate = [stream.avg_frame_rate(), stream.rate()]
        .into_iter()
        .map(f64::from)
        .find(|fps| fps.is_finite() && *fps > 0.0);
    let seconds = |ticks: i64| (ticks != ffi::AV_NOPTS_VALUE).then_some(ticks as f64 * tick_s);
    let start_s = seconds(stream.start_time()).unwrap_or(0.0);
    // Matroska claims an end for the whole only; with sound in it, that may be the sound's.
    let whole_s = || {
        let claimed = (input.nb_streams() == 1).then(|| input.duration())?;
        let end_s = claimed as f64 / f64::from(ffi::AV_TIME_BASE);
        (claimed != ffi::AV_NOPTS_VALUE).then_some(end_s - start_s)
    };
    StreamFacts {
        codec: codec.to_string(),
        tick_s,
        fps: rate.unwrap_or(30.0),
        frames: usize::try_from(stream.frames()).ok().filter(|n| *n > 0),
        duration_s: seconds(stream.duration())
            .or_else(whole_s)
            .filter(|s| *s > 0.0),
        start_s,
        display_matrix: stream
            .side_data()
            .find(|data| data.kind() == ffmpeg::codec::packet::side_data::Type::DisplayMatrix)
            .map(|data| data.data().to_vec()),
    }
}

/// Whether an edit list leaves this packet out of what is shown.
fn is_left_out(packet: &Packet) -> bool {
    use ffmpeg::packet::Ref;
    // SAFETY: the packet is alive; a plain field is read. The wrapper's flags know no DISCARD.
    unsafe { (*packet.as_ptr()).flags & ffi::AV_PKT_FLAG_DISCARD != 0 }
}

fn is_damaged(picture: &Picture) -> bool {
    // SAFETY: the frame is alive; a plain field is read.
    picture.is_corrupt() || unsafe { (*picture.as_ptr()).decode_error_flags != 0 }
}

/// As many threads as there are processors, but no more than pay: each holds a picture of its own.
fn decoding_threads() -> usize {
    std::thread::available_parallelism().map_or(1, |n| n.get().min(4))
}
