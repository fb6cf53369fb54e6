#pragma once

#include <boost/beast/http.hpp>
#include <boost/beast/version.hpp>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "admission.h"
#include "anfract/http/router.h"
#include "anfract/http/server.h"
#include "event_channel.h"
#include "upload_file.h"
#include "wire.h"

// Only server.cpp and the sources of this class may include this header: Boost.Beast is expensive
// to compile.

namespace anfract::http {

class Session;

/// What all connections share. `sessions` and `stopping` belong to the thread that runs `io`.
struct Shared {
    Router router;
    ServerOptions options;
    net::io_context io{1};
    net::thread_pool handlers;
    std::unique_ptr<TlsContext> tls;  ///< null: plain
    Reach reach;
    std::set<Session*> sessions;
    bool stopping = false;
    std::function<void()> all_gone = [] {};

    Shared(Router r, const ServerOptions& o)
        : router(std::move(r)), options(o), handlers(o.handler_threads) {}
};

/// One connection. Everything here runs on the I/O thread, except where it says that it posts to
/// the handlers.
///
/// read_head -> admit -> [read_body ...] -> run_handler -> send -> read_head, or stream_events ->
/// end. A connection is kept alive by the operation it waits for.
class Session : public std::enable_shared_from_this<Session> {
  public:
    Session(tcp::socket socket, Shared& shared);
    ~Session();
    void start();  ///< the handshake, if connections are encrypted, and then read_head
    void read_head();
    void wind_down();  ///< the server stops: end when the answer under way is out
    void cut();        ///< end now

  private:
    using Error = beast::error_code;
    using Parser = beast::http::request_parser<beast::http::buffer_body>;
    using Answer = beast::http::response<beast::http::span_body<const char>>;
    using Serializer = beast::http::response_serializer<beast::http::span_body<const char>>;

    void on_head(Error error);
    void ask_guard();
    void go_on();
    void take_body();
    void read_body();
    void on_body(Error error);
    void store_chunk(std::size_t size);
    void body_goes_on();
    void run_handler();
    void watch_whether_gone();
    void refuse(Response response);
    void refuse_unparsed(Error error);
    void send(Response response);
    void write_some();
    void on_sent();
    void linger();
    void close_sending_side();
    void discard();
    void stream_events();
    void flush_events();
    void write_events(std::string text);
    void watch_client();
    void beat();

    /// Binds a member to an operation so that the connection lives until it ends.
    template <class Member>
    auto then(Member member) {
        return [self = shared_from_this(), member](Error error, auto&&...) {
            ((*self).*member)(error);
        };
    }
    /// Runs `work` on a handler thread and `next`, with what it returned, on the I/O thread, which
    /// does not end before. The connection is handed along, so that only the I/O thread ever
    /// destroys it.
    template <class Work, class Next>
    void on_handler_thread(Work work, Next next) {
        net::post(shared_.handlers,
                  [self = shared_from_this(), work = std::move(work), next = std::move(next),
                   guard = net::make_work_guard(shared_.io)]() mutable {
                      auto outcome = work();
                      net::post(guard.get_executor(),
                                [self = std::move(self), outcome = std::move(outcome),
                                 next = std::move(next)]() mutable { next(std::move(outcome)); });
                  });
    }

    Shared& shared_;
    Wire stream_;
    beast::flat_buffer buffer_;
    std::optional<Parser> parser_;
    Admission admission_;
    std::string accept_encoding_;
    std::vector<char> chunk_;
    std::uint64_t received_bytes_ = 0;
    std::unique_ptr<UploadFile> upload_;
    Response response_;
    std::optional<Answer> answer_;
    std::optional<Serializer> serializer_;
    std::shared_ptr<EventChannel> events_;
    std::string events_text_;
    std::shared_ptr<Progress> waiting_;  ///< of the request that a handler works on
    net::steady_timer look_;             ///< when to look whether the client is still there
    net::steady_timer heartbeat_;
    bool idle_ = true;  ///< waits for a head
    bool close_after_ = false;
    bool writing_ = false;  ///< an event is on its way
    bool head_only_ = false;
};

}  // namespace anfract::http
