#pragma once

#include <string>
#include <string_view>

namespace anfract::http {

/// One open answer of type text/event-stream (WHATWG HTML, section 9.2). All members may be called
/// from any thread and return at once.
class EventStream {
  public:
    virtual ~EventStream() = default;

    /// Queues an event. With `replaces_waiting`, events of the same name that have not been sent
    /// yet are dropped first, so a slow client sees the latest state rather than a backlog. A
    /// client that lets too many events pile up is disconnected; browsers then reconnect.
    virtual void send(std::string_view name, std::string_view data,
                      bool replaces_waiting = false) = 0;

    /// Ends the answer after what is queued.
    virtual void close() = 0;

    /// True once the client has gone or close() was called: nothing more will be delivered.
    virtual bool closed() const = 0;
};

/// An event in the form it has on the wire; line breaks in `data` become several data lines.
std::string format_event(std::string_view name, std::string_view data);

}  // namespace anfract::http
