#include "frame_source.h"

#include <bit>
#include <string>

#include "file_bytes.h"

namespace anfract {
namespace {

void widen_bytes(const unsigned char* bytes, std::size_t count, std::int16_t* to) {
    for (std::size_t n = 0; n < count; ++n) to[n] = static_cast<std::int16_t>(bytes[n]);
}

void swap_words(std::int16_t* words, std::size_t count) {
    for (std::size_t n = 0; n < count; ++n) {
        const auto w = static_cast<std::uint16_t>(words[n]);
        words[n] = static_cast<std::int16_t>(static_cast<std::uint16_t>(w << 8 | w >> 8));
    }
}

/// Reads each frame from its place in the file straight into the volume.
class NativeFrames : public FrameSource {
  public:
    explicit NativeFrames(const DicomFile& file) : file_(file), bytes_(file.path) {}

    Result<void> check() const {
        if (!bytes_.good()) return pixel_failure(file_, "cannot be opened");
        const std::uint64_t needed = file_.layout.frame_bytes() * file_.frames.size();
        const std::uint64_t there = std::min(
            file_.pixel_bytes, bytes_.size() - std::min(bytes_.size(), file_.pixel_offset));
        if (there < needed) {
            return pixel_failure(file_, "its pixel data are cut off, " + std::to_string(there) +
                                            " of " + std::to_string(needed) + " bytes are there");
        }
        return {};
    }

    Result<void> read(std::size_t frame, std::int16_t* to) override {
        const std::size_t count = file_.layout.frame_bytes();
        const std::uint64_t offset = file_.pixel_offset + frame * count;
        const bool bytes = file_.layout.bits_allocated == 8;
        // Bytes are read into the second half and spread forwards from there.
        char* const place = reinterpret_cast<char*>(to) + (bytes ? count : 0);
        if (bytes_.read(place, count, offset) != count)
            return pixel_failure(file_, "cannot be read");
        if (bytes) {
            widen_bytes(reinterpret_cast<const unsigned char*>(place), count, to);
        } else if ((file_.packing == PixelPacking::NativeBigEndian) ==
                   (std::endian::native == std::endian::little)) {
            swap_words(to, file_.layout.pixels());
        }
        words_to_stored(file_.layout, to);
        return {};
    }

  private:
    const DicomFile& file_;
    FileBytes bytes_;
};

/// Holds the inflated data set while its frames are taken out.
class DeflatedFrames : public FrameSource {
  public:
    explicit DeflatedFrames(const DicomFile& file) : file_(file) {}

    Result<void> inflate() {
        const FileBytes raw(file_.path);
        const std::size_t needed =
            file_.pixel_offset + file_.layout.frame_bytes() * file_.frames.size();
        auto inflated = raw.good() ? dicom_bytes(raw, needed) : std::nullopt;
        if (!inflated || inflated->bytes.size() < needed) {
            return pixel_failure(file_, "its deflated pixel data are cut off or damaged");
        }
        bytes_ = std::move(inflated->bytes);
        return {};
    }

    Result<void> read(std::size_t frame, std::int16_t* to) override {
        const std::size_t count = file_.layout.frame_bytes();
        const char* const from = bytes_.data() + file_.pixel_offset + frame * count;
        if (file_.layout.bits_allocated == 8) {
            widen_bytes(reinterpret_cast<const unsigned char*>(from), count, to);
        } else {
            std::copy_n(from, count, reinterpret_cast<char*>(to));
            if constexpr (std::endian::native == std::endian::big)
                swap_words(to, file_.layout.pixels());
        }
        words_to_stored(file_.layout, to);
        return {};
    }

  private:
    const DicomFile& file_;
    std::string bytes_;
};

}  // namespace

void words_to_stored(const PixelLayout& l, std::int16_t* words) {
    const std::size_t count = l.pixels();
    const int unused_below = l.high_bit + 1 - l.bits_stored;
    if (l.bits_stored == 16) {
        if (l.is_signed) return;
        for (std::size_t n = 0; n < count; ++n)
            words[n] = static_cast<std::int16_t>(words[n] ^ 0x8000);
        return;
    }
    const int to_top = 16 - l.bits_stored;
    for (std::size_t n = 0; n < count; ++n) {
        const unsigned value =
            (static_cast<std::uint16_t>(words[n]) >> unused_below) << to_top & 0xFFFFu;
        words[n] = l.is_signed
                       ? static_cast<std::int16_t>(static_cast<std::int16_t>(value) >> to_top)
                       : static_cast<std::int16_t>(value >> to_top);
    }
}

tl::unexpected<Error> pixel_failure(const DicomFile& file, std::string what) {
    return fail(ErrorCode::BadInput, std::move(what), file.path.string(),
                "copy or export the file again");
}

bool lies_unencoded(const DicomFile& file) {
    // Eight-bit pixels in big-endian words may or may not be swapped, depending on their VR: DCMTK
    // knows.
    return file.packing == PixelPacking::NativeLittleEndian ||
           (file.packing == PixelPacking::NativeBigEndian && file.layout.bits_allocated == 16);
}

Result<std::unique_ptr<FrameSource>> open_native_frames(const DicomFile& file) {
    if (file.packing == PixelPacking::Deflated) {
        auto deflated = std::make_unique<DeflatedFrames>(file);
        if (auto done = deflated->inflate(); !done) return tl::unexpected(done.error());
        return deflated;
    }
    auto native = std::make_unique<NativeFrames>(file);
    if (auto done = native->check(); !done) return tl::unexpected(done.error());
    return native;
}

}  // namespace anfract
