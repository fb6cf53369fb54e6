#include "session.h"

#include <poll.h>

#include <cctype>
#include <limits>

#include "anfract/http/problem.h"

namespace anfract::http {
namespace bhttp = beast::http;
namespace {

constexpr std::size_t chunk_bytes = 256 * 1024;

std::string lower(beast::string_view text) {
    std::string result(text);
    for (char& c : result) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return result;
}

Head head_of(const bhttp::request_parser<bhttp::buffer_body>& parser) {
    const auto& message = parser.get();
    Head head;
    head.method = std::string(message.method_string());
    head.target = std::string(message.target());
    for (const auto& field : message) {
        head.headers.emplace(lower(field.name_string()), std::string(field.value()));
    }
    if (const auto length = parser.content_length()) head.content_length = *length;
    head.chunked = parser.chunked();
    return head;
}

bool is_parse_error(const beast::error_code& error) {
    return error.category() == bhttp::make_error_code(bhttp::error::bad_method).category() &&
           error != bhttp::error::end_of_stream && error != bhttp::error::partial_message;
}

/// A defect in a handler costs its request, not the server.
Response guarded(const Handler& handler, Request& request) {
    try {
        return handler(request);
    } catch (const std::bad_alloc&) {
        return problem(
            503, "out_of_memory",
            {anfract::ErrorCode::Io, "there is not enough memory", "", "close other programs"});
    } catch (const std::exception& defect) {
        return problem(500, "defect",
                       {anfract::ErrorCode::Io, std::string("unexpected failure: ") + defect.what(),
                        request.path, "please report this"});
    }
}

}  // namespace

// ---- a connection: reading ----

Session::Session(tcp::socket socket, Shared& shared)
    : shared_(shared),
      stream_(std::move(socket), shared.tls.get()),
      look_(shared.io),
      heartbeat_(shared.io) {
    shared_.sessions.insert(this);
}

void Session::start() {
    stream_.expires_after(shared_.options.idle_timeout);
    stream_.handshake([self = shared_from_this()](Error error) {
        if (!error) self->read_head();
    });
}

Session::~Session() {
    if (events_) events_->abandon();
    shared_.sessions.erase(this);
    if (shared_.stopping && shared_.sessions.empty()) shared_.all_gone();
}

void Session::read_head() {
    idle_ = true;
    parser_.emplace();
    parser_->header_limit(shared_.options.max_header_bytes);
    // The route knows the limit. (In Boost 1.74 "no limit" refuses every body that has a length.)
    parser_->body_limit(std::numeric_limits<std::uint64_t>::max());
    stream_.expires_after(shared_.options.idle_timeout);
    bhttp::async_read_header(stream_, buffer_, *parser_, then(&Session::on_head));
}

void Session::on_head(Error error) {
    idle_ = false;
    if (error) return refuse_unparsed(error);
    const Head head = head_of(*parser_);
    head_only_ = head.method == "HEAD";
    close_after_ = !parser_->keep_alive();
    admission_ = admit(head, shared_.router, shared_.reach);
    admission_.request.peer = stream_.peer();
    accept_encoding_ =
        head.headers.count("accept-encoding") ? head.headers.find("accept-encoding")->second : "";
    if (admission_.refusal) return refuse(std::move(*admission_.refusal));
    shared_.options.guard ? ask_guard() : go_on();
}

/// On a handler thread, since it may ask a database.
void Session::ask_guard() {
    on_handler_thread(
        [this] {
            const Handler guard = [this](Request& request) {
                std::optional<Response> refusal = shared_.options.guard(request, *admission_.route);
                return refusal ? std::move(*refusal) : respond(0, "", "");
            };
            return guarded(guard, admission_.request);
        },
        [this](Response refusal) { refusal.status ? refuse(std::move(refusal)) : go_on(); });
}

void Session::go_on() {
    if (parser_->is_done()) return run_handler();
    if (lower(parser_->get()[bhttp::field::expect]) != "100-continue") return take_body();
    static const std::string go_on = "HTTP/1.1 100 Continue\r\n\r\n";
    net::async_write(stream_, net::buffer(go_on),
                     [self = shared_from_this()](Error failed, std::size_t) {
                         if (!failed) self->take_body();
                     });
}

void Session::take_body() {
    received_bytes_ = 0;
    chunk_.resize(chunk_bytes);
    const BodyRule& rule = admission_.route->body;
    if (rule.kind == BodyRule::Kind::File) {
        std::optional<Response> refusal;
        const auto expected = parser_->content_length();
        upload_ = UploadFile::create(rule.directory, expected ? *expected : 0, refusal);
        if (!upload_) return refuse(std::move(*refusal));
        admission_.request.body_file = upload_->path();
    }
    read_body();
}

void Session::read_body() {
    auto& body = parser_->get().body();
    body.data = chunk_.data();
    body.size = chunk_.size();
    stream_.expires_after(shared_.options.chunk_timeout);
    bhttp::async_read(stream_, buffer_, *parser_, then(&Session::on_body));
}

void Session::on_body(Error error) {
    if (error && error != bhttp::error::need_buffer) return refuse_unparsed(error);
    const std::size_t size = chunk_.size() - parser_->get().body().size;
    received_bytes_ += size;
    const BodyRule& rule = admission_.route->body;
    if (received_bytes_ > rule.limit_bytes) return refuse(too_large(rule.limit_bytes));
    if (rule.kind == BodyRule::Kind::File) return store_chunk(size);
    admission_.request.body.append(chunk_.data(), size);
    body_goes_on();
}

/// Disks can be slow, so they are written to on a handler thread.
void Session::store_chunk(std::size_t size) {
    on_handler_thread([this, size] { return upload_->write({chunk_.data(), size}); },
                      [this](std::optional<Response> refusal) {
                          refusal ? refuse(std::move(*refusal)) : body_goes_on();
                      });
}

void Session::body_goes_on() {
    if (!parser_->is_done()) return read_body();
    chunk_ = {};
    run_handler();
}

void Session::run_handler() {
    waiting_ = admission_.request.waiting;
    if (shared_.stopping) waiting_->cancel();
    watch_whether_gone();
    on_handler_thread(
        [this] {
            Response response = guarded(admission_.route->handler, admission_.request);
            finish(response, accept_encoding_, shared_.options);
            upload_.reset();
            return response;
        },
        [this](Response response) {
            waiting_.reset();
            look_.cancel();
            send(std::move(response));
        });
}

/// Asks the system and does not read, since the next request may be there already. A client that
/// has closed its sending side is taken for gone, as browsers close both.
void Session::watch_whether_gone() {
    look_.expires_after(std::chrono::milliseconds(200));
    look_.async_wait([weak = weak_from_this()](Error error) {
        const auto self = weak.lock();
        if (error || !self || !self->waiting_) return;
        pollfd socket{self->stream_.socket().native_handle(), POLLRDHUP, 0};
        if (::poll(&socket, 1, 0) == 0) return self->watch_whether_gone();
        self->waiting_->cancel();
    });
}

// ---- a connection: answering ----

/// Answers without having read the body, so what follows on the connection cannot be a request.
void Session::refuse(Response response) {
    if (!parser_->is_done()) close_after_ = true;
    upload_.reset();
    finish(response, accept_encoding_, shared_.options);
    send(std::move(response));
}

void Session::refuse_unparsed(Error error) {
    if (!is_parse_error(error)) return;  // gone, timed out, or stopped half way: nobody to answer
    close_after_ = true;
    const bool large =
        error == bhttp::error::header_limit || error == bhttp::error::buffer_overflow;
    Response response =
        large ? problem(431, "head_too_large",
                        {anfract::ErrorCode::BadInput, "the head of the request is too large", "",
                         "send fewer or shorter headers"})
              : problem(400, "bad_request",
                        {anfract::ErrorCode::BadInput, "the request is malformed", error.message(),
                         "send HTTP/1.1"});
    refuse(std::move(response));
}

void Session::send(Response response) {
    response_ = std::move(response);
    answer_.emplace();
    answer_->version(11);
    answer_->result(static_cast<unsigned>(response_.status));
    answer_->reason(beast::string_view(status_name(response_.status).data(),
                                       status_name(response_.status).size()));
    for (const auto& [name, value] : response_.headers) answer_->insert(name, value);
    if (shared_.stopping || response_.stream) close_after_ = true;
    answer_->keep_alive(!close_after_);
    const bool bodiless = response_.status == 204 || response_.status == 304;
    if (response_.stream) {
        answer_->set(bhttp::field::content_type, "text/event-stream");
    } else if (!bodiless) {
        answer_->content_length(response_.bytes().size());
        answer_->body() = {response_.bytes().data(), response_.bytes().size()};
    }
    serializer_.emplace(*answer_);
    stream_.expires_after(shared_.options.chunk_timeout);
    if (head_only_ || bodiless || response_.stream) {
        bhttp::async_write_header(
            stream_, *serializer_, [self = shared_from_this()](Error error, std::size_t) {
                if (error) return;
                self->response_.stream && !self->head_only_ ? self->stream_events()
                                                            : self->on_sent();
            });
    } else {
        write_some();
    }
}

/// By pieces, so that the time-out counts from the last progress and not from the start of a large
/// answer.
void Session::write_some() {
    stream_.expires_after(shared_.options.chunk_timeout);
    bhttp::async_write_some(stream_, *serializer_,
                            [self = shared_from_this()](Error error, std::size_t) {
                                if (error) return;
                                self->serializer_->is_done() ? self->on_sent() : self->write_some();
                            });
}

void Session::on_sent() {
    serializer_.reset();
    answer_.reset();
    response_ = {};
    admission_ = {};
    if (close_after_ || shared_.stopping) return linger();
    read_head();
}

/// Closing with unread input makes the kernel reset the connection, and the client may never see
/// the answer. So the sending side is closed first and what still arrives is thrown away for a
/// while.
void Session::linger() {
    idle_ = true;
    stream_.expires_after(std::chrono::seconds(2));
    stream_.say_goodbye([self = shared_from_this()](Error) { self->close_sending_side(); });
}

void Session::close_sending_side() {
    Error ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
    chunk_.resize(chunk_bytes);
    stream_.expires_after(std::chrono::seconds(2));
    discard();
}

void Session::discard() {
    stream_.tcp_layer().async_read_some(net::buffer(chunk_),
                                        [self = shared_from_this()](Error error, std::size_t) {
                                            if (!error) self->discard();
                                        });
}

}  // namespace anfract::http
