#pragma once

#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "anfract/http/event_stream.h"

namespace anfract::http {

/// The queue between whoever sends events, on any thread, and the connection that writes them.
class EventChannel final : public EventStream {
  public:
    /// @param wake  called, on the sender's thread, when there is something to take; must only post
    explicit EventChannel(std::function<void()> wake) : wake_(std::move(wake)) {}

    void send(std::string_view name, std::string_view data, bool replaces_waiting) override {
        const std::lock_guard lock(mutex_);
        if (ended_) return;
        if (replaces_waiting)
            std::erase_if(waiting_, [&](const auto& event) { return event.first == name; });
        if (waiting_.size() >= most_waiting) {
            waiting_.clear();
            ended_ = true;
        } else {
            waiting_.emplace_back(name, format_event(name, data));
        }
        if (wake_) wake_();
    }

    void close() override {
        const std::lock_guard lock(mutex_);
        ended_ = true;
        if (wake_) wake_();
    }

    bool closed() const override {
        const std::lock_guard lock(mutex_);
        return ended_;
    }

    /// Everything queued, as it goes on the wire. Empty text: nothing for now; nothing at all: the
    /// end.
    std::optional<std::string> take() {
        const std::lock_guard lock(mutex_);
        if (waiting_.empty() && ended_) return std::nullopt;
        std::string text;
        for (const auto& event : waiting_) text += event.second;
        waiting_.clear();
        return text;
    }

    /// The connection is gone: nothing is taken any more, and `wake` is not called any more.
    void abandon() {
        const std::lock_guard lock(mutex_);
        ended_ = true;
        waiting_.clear();
        wake_ = nullptr;
    }

  private:
    static constexpr std::size_t most_waiting = 256;
    mutable std::mutex mutex_;
    std::function<void()> wake_;
    std::vector<std::pair<std::string, std::string>> waiting_;
    bool ended_ = false;
};

}  // namespace anfract::http
