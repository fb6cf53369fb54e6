#include "session.h"

namespace anfract::http {

void Session::stream_events() {
    const std::weak_ptr<Session> weak = weak_from_this();
    events_ = std::make_shared<EventChannel>([weak, &io = shared_.io] {
        net::post(io, [weak] {
            if (const auto self = weak.lock()) self->flush_events();
        });
    });
    const auto stream = std::move(response_.stream);
    stream_.expires_never();
    watch_client();
    beat();
    on_handler_thread(
        [stream, events = events_] {
            stream(events);
            return events;
        },
        [](const std::shared_ptr<EventChannel>&) {});
    if (shared_.stopping) events_->close();
}

void Session::flush_events() {
    if (writing_ || !stream_.socket().is_open()) return;
    std::optional<std::string> text = events_->take();
    if (!text) {
        heartbeat_.cancel();
        return cut();
    }
    if (!text->empty()) write_events(std::move(*text));
}

void Session::write_events(std::string text) {
    writing_ = true;
    events_text_ = std::move(text);
    stream_.expires_after(shared_.options.chunk_timeout);
    net::async_write(stream_, net::buffer(events_text_),
                     [self = shared_from_this()](Error error, std::size_t) {
                         self->writing_ = false;
                         if (error) return self->cut();
                         self->flush_events();
                     });
}

/// A client says nothing while it listens, so a read that ends means that it has gone.
void Session::watch_client() {
    chunk_.resize(64);
    stream_.async_read_some(net::buffer(chunk_),
                            [self = shared_from_this()](Error error, std::size_t) {
                                error ? self->cut() : self->watch_client();
                            });
}

/// A comment now and then shows that both ends are still there.
void Session::beat() {
    heartbeat_.expires_after(shared_.options.heartbeat);
    heartbeat_.async_wait([weak = weak_from_this()](Error error) {
        const auto self = weak.lock();
        if (error || !self) return;
        if (!self->writing_) self->write_events(":\n\n");
        self->beat();
    });
}

void Session::wind_down() {
    if (idle_) return cut();
    if (events_) return events_->close();
    if (waiting_) waiting_->cancel();
    close_after_ = true;
}

void Session::cut() {
    if (events_) events_->abandon();
    heartbeat_.cancel();
    Error ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_both, ignored);
    stream_.close();
}

}  // namespace anfract::http
