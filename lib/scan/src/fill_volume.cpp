#include "fill_volume.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <optional>
#include <thread>

#include "frame_source.h"

namespace anfract {
namespace {

/// Reads the slices of a stack, each on whichever thread comes to it first.
class Filler {
  public:
    Filler(const std::vector<DicomFile>& files, const Stack& stack, const Progress& progress)
        : files_(files),
          stack_(stack),
          progress_(progress),
          slice_voxels_(stack.geometry.index(0, 0, 1)) {}

    Result<Voxels> run(unsigned threads) {
        voxels_ = Voxels(slice_voxels_ * stack_.slices.size());
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
        return std::move(voxels_);
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
                    auto opened = open_frames(files_[at.file]);
                    if (!opened) return fail_with(slice, opened.error());
                    source = std::move(*opened);
                    open_file = at.file;
                }
                auto done = source->read(at.frame, voxels_.data() + slice * slice_voxels_);
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
    const Progress& progress_;
    const std::size_t slice_voxels_;
    Voxels voxels_;
    std::atomic<std::size_t> next_{0};
    std::atomic<bool> stop_{false};
    std::mutex failure_mutex_;
    std::optional<Error> failure_;
    std::size_t failed_slice_ = 0;
};

/// The line from stored to grey of one slice.
struct Scale {
    double slope = 1;
    double intercept = 0;
    bool operator==(const Scale&) const = default;
};

Scale scale_of(const std::vector<DicomFile>& files, const StackSlice& slice) {
    const DicomFile& file = files[slice.file];
    const DicomFrame& frame = file.frames[slice.frame];
    return {frame.slope, frame.intercept + frame.slope * stored_offset(file.layout)};
}

/// Brings slices with scales of their own to one scale over the range of all.
void make_scale_common(const std::vector<DicomFile>& files, const Stack& stack, Volume& volume) {
    const std::size_t count = volume.geometry.index(0, 0, 1);
    double low = 1e300;
    double high = -1e300;
    for (std::size_t s = 0; s < stack.slices.size(); ++s) {
        const Scale scale = scale_of(files, stack.slices[s]);
        const auto begin = volume.voxels.begin() + s * count;
        const auto [least, most] = std::minmax_element(begin, begin + count);
        for (const std::int16_t v : {*least, *most}) {
            low = std::min(low, scale.slope * v + scale.intercept);
            high = std::max(high, scale.slope * v + scale.intercept);
        }
    }
    volume.slope = high > low ? (high - low) / 65534 : 1;
    volume.intercept = 0.5 * (low + high);
    for (std::size_t s = 0; s < stack.slices.size(); ++s) {
        const Scale scale = scale_of(files, stack.slices[s]);
        for (std::size_t n = s * count; n < (s + 1) * count; ++n) {
            const double grey = scale.slope * volume.voxels[n] + scale.intercept;
            volume.voxels[n] = std::int16_t(std::lround((grey - volume.intercept) / volume.slope));
        }
    }
}

}  // namespace

Result<Volume> fill_volume(const std::vector<DicomFile>& files, const Stack& stack,
                           unsigned threads, const Progress& progress) {
    auto voxels = Filler(files, stack, progress).run(threads);
    if (!voxels) return tl::unexpected(voxels.error());
    Volume volume;
    volume.geometry = stack.geometry;
    volume.voxels = std::move(*voxels);
    const Scale first = scale_of(files, stack.slices.front());
    volume.slope = first.slope;
    volume.intercept = first.intercept;
    const bool common =
        std::all_of(stack.slices.begin(), stack.slices.end(),
                    [&](const StackSlice& s) { return scale_of(files, s) == first; });
    if (!common) make_scale_common(files, stack, volume);
    return volume;
}

}  // namespace anfract
