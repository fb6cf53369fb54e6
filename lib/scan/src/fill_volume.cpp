#include "fill_volume.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

namespace anfract {
namespace {

/// Reads the slices of a stack, each on whichever thread comes to it first.
class Filler {
  public:
    Filler(const std::vector<DicomFile>& files, const Stack& stack, const OpenFrames& open_frames,
           const Progress& progress, std::int16_t* to)
        : files_(files),
          stack_(stack),
          open_frames_(open_frames),
          progress_(progress),
          slice_voxels_(stack.geometry.index(0, 0, 1)),
          to_(to) {}

    Result<void> run(unsigned threads) {
        {
            // Frames of one encoded file are decoded in turn: each thread would load the file anew.
            const bool share = files_.size() > 1 ||
                               files_.front().packing == PixelPacking::NativeLittleEndian ||
                               files_.front().packing == PixelPacking::NativeBigEndian;
            std::vector<std::jthread> readers;
            for (unsigned t = 1; share && t < threads; ++t) {
                readers.emplace_back([this] { work(false); });
            }
            work(true);
        }
        if (failure_) return tl::unexpected(*failure_);
        return {};
    }

  private:
    void fail_with(std::size_t slice, Error error) {
        const std::lock_guard lock(failure_mutex_);
        // The first slice in order wins, so that the message is the same for any number of threads.
        if (!failure_ || slice < failed_slice_) {
            failure_ = std::move(error);
            failed_slice_ = slice;
        }
        stop_ = true;
    }

    void work(bool reports) {
        const std::size_t count = stack_.slices.size();
        std::size_t slice = 0;
        try {
            std::unique_ptr<FrameSource> source;
            std::size_t open_file = files_.size();
            for (slice = next_++; slice < count && !stop_; slice = next_++) {
                if (progress_.cancelled()) {
                    return fail_with(slice, {ErrorCode::Cancelled, "reading was stopped", "", ""});
                }
                const StackSlice& at = stack_.slices[slice];
                if (open_file != at.file) {
                    source.reset();
                    auto opened = open_frames_(files_[at.file]);
                    if (!opened) return fail_with(slice, opened.error());
                    source = std::move(*opened);
                    open_file = at.file;
                }
                auto done = source->read(at.frame, to_ + slice * slice_voxels_);
                if (!done) return fail_with(slice, done.error());
                if (reports) {
                    progress_.report(0.2 + 0.8 * double(slice) / double(count), "reading slices");
                }
            }
        } catch (const std::bad_alloc&) {
            fail_with(slice, {ErrorCode::Io, "there is not enough memory for the scan", "",
                              "close other programs or export a smaller region"});
        }
    }

    const std::vector<DicomFile>& files_;
    const Stack& stack_;
    const OpenFrames& open_frames_;
    const Progress& progress_;
    const std::size_t slice_voxels_;
    std::int16_t* const to_;
    std::atomic<std::size_t> next_{0};
    std::atomic<bool> stop_{false};
    std::mutex failure_mutex_;
    std::optional<Error> failure_;
    std::size_t failed_slice_ = 0;
};

GreyLine line_of(const std::vector<DicomFile>& files, const StackSlice& slice) {
    const DicomFile& file = files[slice.file];
    const DicomFrame& frame = file.frames[slice.frame];
    return {frame.slope, frame.intercept + frame.slope * stored_offset(file.layout)};
}

/// Brings slices with scales of their own to one scale over the range of all.
GreyLine make_scale_common(const std::vector<DicomFile>& files, const Stack& stack,
                           std::int16_t* voxels) {
    const std::size_t count = stack.geometry.index(0, 0, 1);
    double low = 1e300;
    double high = -1e300;
    for (std::size_t s = 0; s < stack.slices.size(); ++s) {
        const GreyLine line = line_of(files, stack.slices[s]);
        const auto [least, most] =
            std::minmax_element(voxels + s * count, voxels + (s + 1) * count);
        for (const std::int16_t v : {*least, *most}) {
            low = std::min(low, line.slope * v + line.intercept);
            high = std::max(high, line.slope * v + line.intercept);
        }
    }
    const GreyLine common{high > low ? (high - low) / 65534 : 1, 0.5 * (low + high)};
    for (std::size_t s = 0; s < stack.slices.size(); ++s) {
        const GreyLine line = line_of(files, stack.slices[s]);
        for (std::size_t n = s * count; n < (s + 1) * count; ++n) {
            const double grey = line.slope * voxels[n] + line.intercept;
            voxels[n] = std::int16_t(std::lround((grey - common.intercept) / common.slope));
        }
    }
    return common;
}

}  // namespace

Result<GreyLine> fill_voxels(const std::vector<DicomFile>& files, const Stack& stack,
                             const OpenFrames& open_frames, unsigned threads,
                             const Progress& progress, std::int16_t* to) {
    auto done = Filler(files, stack, open_frames, progress, to).run(threads);
    if (!done) return tl::unexpected(done.error());
    const GreyLine first = line_of(files, stack.slices.front());
    const bool common =
        std::all_of(stack.slices.begin(), stack.slices.end(),
                    [&](const StackSlice& s) { return line_of(files, s) == first; });
    return common ? first : make_scale_common(files, stack, to);
}

}  // namespace anfract
