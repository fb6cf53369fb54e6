#pragma once

#include <cstdint>
#include <memory>

#include "anfract/base/result.h"
#include "dicom_file.h"

namespace anfract {

/// Gives the frames of one DICOM file as 16-bit values, whatever their encoding.
class FrameSource {
  public:
    FrameSource() = default;
    FrameSource(const FrameSource&) = delete;
    FrameSource& operator=(const FrameSource&) = delete;
    virtual ~FrameSource() = default;

    /// Writes layout.pixels() values to `to`: the stored value less stored_offset(layout).
    virtual Result<void> read(std::size_t frame, std::int16_t* to) = 0;
};

/// What is taken off stored values so that they fit 16 signed bits: 32768 for unsigned 16-bit
/// pixels, else 0.
inline int stored_offset(const PixelLayout& layout) {
    return !layout.is_signed && layout.bits_stored == 16 ? 32768 : 0;
}

/// Turns raw pixel words, host byte order, in place into stored values less stored_offset(layout).
void words_to_stored(const PixelLayout& layout, std::int16_t* words);

/// True when the pixels only need to be copied out of the file.
bool lies_unencoded(const DicomFile& file);

/// Frames in a native or deflated encoding. Errors: the file has gone, is shorter than its header
/// says or is damaged.
Result<std::unique_ptr<FrameSource>> open_native_frames(const DicomFile& file);

/// The source for a file in any encoding; others than the native are decoded by DCMTK or, for
/// JPEG 2000, by OpenJPEG. For the reading process alone.
Result<std::unique_ptr<FrameSource>> open_frames(const DicomFile& file);

/// The failure "WHAT" of the pixel data of a file.
tl::unexpected<Error> pixel_failure(const DicomFile& file, std::string what);

}  // namespace anfract
