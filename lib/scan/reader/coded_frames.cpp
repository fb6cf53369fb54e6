#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dcistrmb.h>
#include <dcmtk/dcmdata/dcpixel.h>
#include <dcmtk/dcmdata/dcpixseq.h>
#include <dcmtk/dcmdata/dcpxitem.h>
#include <dcmtk/dcmdata/dctk.h>

#include <string>
#include <vector>

#include "file_bytes.h"
#include "frame_source.h"
#include "jpeg2000.h"
#include "nesting_guard.h"

namespace anfract {
namespace {

constexpr std::uint64_t largest_coded_file = std::uint64_t{1} << 32;

/// Loads a whole file, encoded pixel data included.
Result<std::unique_ptr<DcmFileFormat>> load_whole(const DicomFile& file) {
    const FileBytes raw(file.path);
    if (!raw.good() || raw.size() > largest_coded_file)
        return pixel_failure(file, "cannot be read");
    std::string bytes(raw.size(), '\0');
    if (raw.read(bytes.data(), bytes.size(), 0) != bytes.size())
        return pixel_failure(file, "cannot be read");
    if (nested_too_deeply(bytes)) return pixel_failure(file, "its items are nested too deeply");
    DcmInputBufferStream stream;
    stream.setBuffer(bytes.data(), offile_off_t(bytes.size()));
    stream.setEos();
    auto format = std::make_unique<DcmFileFormat>();
    format->transferInit();
    const OFCondition status = format->read(stream, EXS_Unknown, EGL_noChange, DCM_MaxReadLength);
    format->transferEnd();
    if (status.bad()) return pixel_failure(file, "its pixel data are cut off or damaged");
    return format;
}

/// Frames decoded one by one by DCMTK's codecs.
class DcmtkFrames : public FrameSource {
  public:
    DcmtkFrames(const DicomFile& file, std::unique_ptr<DcmFileFormat> format)
        : file_(file), format_(std::move(format)) {}

    Result<void> read(std::size_t frame, std::int16_t* to) override {
        DcmElement* element = nullptr;
        DcmDataset* dataset = format_->getDataset();
        Uint32 size = 0;
        if (dataset->findAndGetElement(DCM_PixelData, element).bad() ||
            element->getUncompressedFrameSize(dataset, size).bad() ||
            size < file_.layout.frame_bytes() || size > file_.layout.frame_bytes() + 1) {
            return pixel_failure(file_, "its pixel data do not fit its header");
        }
        // DCMTK asks for an even number of bytes.
        decoded_.resize(std::size_t(size) + size % 2);
        // Codecs find the fragments of a frame from those of the frame before; on a jump they count
        // anew.
        if (frame != next_frame_) next_fragment_ = 0;
        OFString colour;
        const OFCondition status =
            element->getUncompressedFrame(dataset, Uint32(frame), next_fragment_, decoded_.data(),
                                          Uint32(decoded_.size()), colour, nullptr);
        if (status.bad()) {
            return pixel_failure(file_, "its pixel data cannot be decoded (frame " +
                                            std::to_string(frame + 1) + ")");
        }
        next_frame_ = frame + 1;
        const std::size_t pixels = file_.layout.pixels();
        if (file_.layout.bits_allocated == 8) {
            for (std::size_t n = 0; n < pixels; ++n) to[n] = static_cast<std::int16_t>(decoded_[n]);
        } else {
            std::copy_n(decoded_.data(), 2 * pixels, reinterpret_cast<unsigned char*>(to));
        }
        words_to_stored(file_.layout, to);
        return {};
    }

  private:
    const DicomFile& file_;
    std::unique_ptr<DcmFileFormat> format_;
    std::vector<unsigned char> decoded_;
    Uint32 next_fragment_ = 0;
    std::size_t next_frame_ = 0;
};

/// Frames whose code streams are taken out of their fragments and decoded by OpenJPEG.
class Jpeg2000Frames : public FrameSource {
  public:
    Jpeg2000Frames(const DicomFile& file, std::unique_ptr<DcmFileFormat> format)
        : file_(file), format_(std::move(format)) {}

    /// Finds which fragments belong to which frame.
    Result<void> index() {
        DcmElement* element = nullptr;
        if (format_->getDataset()->findAndGetElement(DCM_PixelData, element).bad()) {
            return pixel_failure(file_, "its pixel data are missing");
        }
        auto* pixels = dynamic_cast<DcmPixelData*>(element);
        DcmPixelSequence* sequence = nullptr;
        if (pixels == nullptr ||
            pixels
                ->getEncapsulatedRepresentation(format_->getDataset()->getOriginalXfer(), nullptr,
                                                sequence)
                .bad() ||
            sequence == nullptr || sequence->card() < 2) {
            return pixel_failure(file_, "its pixel data hold no image");
        }
        for (unsigned long n = 1; n < sequence->card(); ++n) {
            DcmPixelItem* item = nullptr;
            Uint8* bytes = nullptr;
            if (sequence->getItem(item, n).bad() || item->getUint8Array(bytes).bad() ||
                bytes == nullptr) {
                return pixel_failure(file_, "its pixel data are damaged");
            }
            const std::string_view fragment(reinterpret_cast<const char*>(bytes),
                                            item->getLength());
            // A frame begins with a start-of-codestream marker or a JP2 signature box.
            const bool starts = fragment.substr(0, 4) == "\xFF\x4F\xFF\x51" ||
                                (fragment.size() > 8 && fragment.substr(4, 4) == "jP  ");
            if (starts || frames_.empty()) frames_.emplace_back();
            frames_.back().push_back(fragment);
        }
        if (frames_.size() != file_.frames.size()) {
            return pixel_failure(file_, "its pixel data hold " + std::to_string(frames_.size()) +
                                            " of " + std::to_string(file_.frames.size()) +
                                            " frames");
        }
        return {};
    }

    Result<void> read(std::size_t frame, std::int16_t* to) override {
        std::string joined;
        std::string_view stream = frames_[frame].front();
        if (frames_[frame].size() > 1) {
            for (const std::string_view part : frames_[frame]) joined += part;
            stream = joined;
        }
        const std::string complaint =
            decode_jpeg2000(stream, file_.layout.columns, file_.layout.rows, to);
        if (!complaint.empty()) return pixel_failure(file_, complaint);
        words_to_stored(file_.layout, to);
        return {};
    }

  private:
    const DicomFile& file_;
    std::unique_ptr<DcmFileFormat> format_;
    std::vector<std::vector<std::string_view>> frames_;
};

/// The head of an RLE fragment: the number of segments, at most 15, and where each begins, in order
/// and within the fragment [DICOM PS3.5, G.5]. DCMTK 3.6.7 believes it and reads where it leads.
bool rle_head_holds(const Uint8* bytes, std::size_t size) {
    constexpr std::size_t head = 64, most_segments = 15;
    if (bytes == nullptr || size < head) return false;
    const auto word = [&](std::size_t n) {
        return std::uint32_t{bytes[4 * n]} | std::uint32_t{bytes[4 * n + 1]} << 8 |
               std::uint32_t{bytes[4 * n + 2]} << 16 | std::uint32_t{bytes[4 * n + 3]} << 24;
    };
    const std::size_t segments = word(0);
    if (segments < 1 || segments > most_segments) return false;
    std::size_t before = head - 1;
    for (std::size_t n = 1; n <= segments; ++n) {
        const std::size_t begin = word(n);
        if (begin <= before || begin >= size) return false;
        before = begin;
    }
    return true;
}

/// Whether the segments of a JPEG image lead to its frame header, or out of the fragment, without
/// the marker TEM or a reserved one, which have no place there [ITU-T T.81, B.1.1.3 and B.2.4]:
/// DCMTK 3.6.7 looks at the first for ever, and takes the others for markers without a length.
bool jpeg_head_holds(const Uint8* bytes, std::size_t size) {
    for (std::size_t at = 0; at + 4 <= size && bytes[at] == 0xFF;) {
        const int marker = bytes[at + 1];
        if (marker >= 0x01 && marker <= 0xBF) return false;
        const bool stands_alone = marker >= 0xD0 && marker <= 0xD9;
        const bool table = marker == 0xC4 || marker == 0xC8 || marker == 0xCC;
        if (marker >= 0xC0 && marker <= 0xCF && !table) return true;
        at += 2;
        if (!stands_alone) at += std::size_t{bytes[at]} << 8 | bytes[at + 1];
    }
    return true;
}

/// Looks at the heads of the fragments of coded pixels where a damaged one would lead DCMTK astray.
/// A frame is one fragment in RLE, one or more in JPEG [DICOM PS3.5, A.4.1 and A.4.2].
Result<void> check_fragments(const DicomFile& file, DcmDataset& dataset) {
    const E_TransferSyntax syntax = dataset.getOriginalXfer();
    const bool rle = syntax == EXS_RLELossless;
    const bool jpeg = syntax == EXS_JPEGProcess1 || syntax == EXS_JPEGProcess2_4 ||
                      syntax == EXS_JPEGProcess14 || syntax == EXS_JPEGProcess14SV1;
    if (!rle && !jpeg) return {};
    DcmElement* element = nullptr;
    DcmPixelSequence* sequence = nullptr;
    if (dataset.findAndGetElement(DCM_PixelData, element).bad()) return {};
    auto* const pixels = dynamic_cast<DcmPixelData*>(element);
    if (pixels == nullptr ||
        pixels->getEncapsulatedRepresentation(syntax, nullptr, sequence).bad() ||
        sequence == nullptr)
        return pixel_failure(file, "its pixel data hold no image");
    for (unsigned long n = 1; n < sequence->card(); ++n) {
        DcmPixelItem* item = nullptr;
        Uint8* bytes = nullptr;
        if (sequence->getItem(item, n).bad() || item->getUint8Array(bytes).bad())
            return pixel_failure(file, "its pixel data hold no image");
        if (rle ? !rle_head_holds(bytes, item->getLength())
                : !jpeg_head_holds(bytes, item->getLength()))
            return pixel_failure(file, rle ? "its RLE coded pixel data are damaged"
                                           : "its JPEG coded pixel data are damaged");
    }
    return {};
}

}  // namespace

Result<std::unique_ptr<FrameSource>> open_frames(const DicomFile& file) {
    if (lies_unencoded(file) || file.packing == PixelPacking::Deflated)
        return open_native_frames(file);
    auto format = load_whole(file);
    if (!format) return tl::unexpected(format.error());
    if (file.packing == PixelPacking::Jpeg2000) {
        auto frames = std::make_unique<Jpeg2000Frames>(file, std::move(*format));
        if (auto done = frames->index(); !done) return tl::unexpected(done.error());
        return frames;
    }
    if (auto good = check_fragments(file, *(*format)->getDataset()); !good)
        return tl::unexpected(good.error());
    return std::make_unique<DcmtkFrames>(file, std::move(*format));
}

}  // namespace anfract
