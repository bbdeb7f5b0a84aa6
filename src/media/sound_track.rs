//! The sound track of a phone clip (AAC in MP4 or MOV), decoded packet by packet.

use std::fs::File;
use std::path::Path;

use symphonia::core::codecs::audio::AudioDecoderOptions;
use symphonia::core::errors::Error as DecodeError;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, TrackType};
use symphonia::core::io::{MediaSourceStream, MediaSourceStreamOptions};
use symphonia::core::meta::MetadataOptions;

use super::edit_list::sound_start_s;
use super::recording::{Recording, Source};
use super::sound::Sound;
use crate::{Error, Result, Warning};

/// Samples of silence that AAC encoders put first: 1024 or 2112, of which the longer is the doubt where
/// a clip does not tell. The figures are common practice, no published source.
const LEAD_IN: f64 = 2112.0;

/// Reads the sound of a clip in one pass with flat memory.
///
/// # Errors
/// [`Error::Unreadable`] where it is no clip that can be read, or has no sound in a form that is known.
pub fn read_sound_track(path: &Path) -> Result<Recording> {
    let file = File::open(path).map_err(|e| Error::file(path, e))?;
    let refuse =
        |what: &str| Error::unreadable(path, what, "save the clip's sound as WAV and give that");
    let source = MediaSourceStream::new(Box::new(file), MediaSourceStreamOptions::default());
    let mut clip = symphonia::default::get_probe()
        .probe(
            &Hint::new(),
            source,
            FormatOptions::default(),
            MetadataOptions::default(),
        )
        .map_err(|_| refuse("the clip is damaged or of a kind whose sound cannot be read"))?;
    let track = clip
        .default_track(TrackType::Audio)
        .ok_or_else(|| refuse("there is no sound in this clip"))?;
    let id = track.id;
    let coded = track
        .codec_params
        .as_ref()
        .and_then(|p| p.audio())
        .ok_or_else(|| refuse("there is no sound in this clip"))?;
    let mut decoder = symphonia::default::get_codecs()
        .make_audio_decoder(coded, &AudioDecoderOptions::default())
        .map_err(|_| refuse("its sound is of a kind that cannot be read (AAC can)"))?;
    let mut sound: Option<Sound> = None;
    let mut form = (0, 0);
    let (mut samples, mut damaged, mut cut) = (Vec::<f32>::new(), 0usize, false);
    loop {
        let packet = match clip.next_packet() {
            Ok(Some(packet)) => packet,
            Ok(None) => break,
            Err(_) => {
                cut = true;
                break;
            }
        };
        if packet.track_id != id {
            continue;
        }
        let decoded = match decoder.decode(&packet) {
            Ok(decoded) => decoded,
            Err(DecodeError::DecodeError(_)) => {
                damaged += 1;
                continue;
            }
            Err(_) => {
                cut = true;
                break;
            }
        };
        let now = (decoded.num_planes(), decoded.spec().rate());
        if sound.is_none() {
            form = now;
            sound = Some(Sound::new(path, now.0, now.1)?);
        }
        if now != form {
            return Err(refuse("its sound changes its form on the way"));
        }
        decoded.copy_to_vec_interleaved(&mut samples);
        if let Some(sound) = &mut sound {
            samples.iter().for_each(|v| sound.push(f64::from(*v)));
        }
    }
    let mut sound = sound.ok_or_else(|| refuse("there is no sound in this clip"))?;
    if damaged > 0 || cut {
        let text = format!(
            "the sound is damaged ({damaged} pieces lost{}); figures hold for the rest; copy the clip again",
            if cut { ", its end missing" } else { "" }
        );
        sound.warnings.push(Warning::Other {
            code: "damaged",
            text,
        });
    }
    let mut recording = sound.finish(path, Source::SoundTrack)?;
    match sound_start_s(path) {
        Some(start_s) => recording.t_s.iter_mut().for_each(|t| *t += start_s),
        None => recording.start_doubt_s = LEAD_IN / recording.recorded_hz,
    }
    Ok(recording)
}
