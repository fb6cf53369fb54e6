#pragma once

#include <atomic>
#include <functional>
#include <string_view>

namespace anfract {

/// How a long computation tells its caller where it is, and learns that it should stop.
///
/// The computation calls `report` now and then and returns ErrorCode::Cancelled soon after
/// `cancelled()` turns true. Both may be called from any thread; the listener must bear that.
class Progress {
  public:
    /// `fraction` in [0, 1]; `stage` is a short phrase for a person, such as "tracing canals".
    using Listener = std::function<void(double fraction, std::string_view stage)>;

    Progress() = default;
    explicit Progress(Listener listener) : listener_(std::move(listener)) {}
    /// The part of `whole` from one fraction to another: reports go there, and its cancelling is
    /// heard here. `whole` must outlive it.
    Progress(const Progress& whole, double from, double to)
        : listener_([&whole, from, to](double fraction, std::string_view stage) {
              whole.report(from + (to - from) * fraction, stage);
          }),
          whole_(&whole) {}

    void report(double fraction, std::string_view stage) const {
        if (listener_) listener_(fraction, stage);
    }
    void cancel() { cancelled_.store(true, std::memory_order_relaxed); }
    bool cancelled() const {
        return cancelled_.load(std::memory_order_relaxed) || (whole_ && whole_->cancelled());
    }

  private:
    Listener listener_;
    const Progress* whole_ = nullptr;
    std::atomic<bool> cancelled_{false};
};

}  // namespace anfract
