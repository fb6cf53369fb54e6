#pragma once

// clang-format off: Boost 1.74's coroutine headers need std::exchange but do not include it
#include <utility>
#include <boost/asio.hpp>
// clang-format on
#include <boost/asio/ssl.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/ssl.hpp>
#include <memory>
#include <optional>
#include <string>

#include "tls_context.h"

namespace anfract::http {

namespace net = boost::asio;
namespace beast = boost::beast;
using tcp = net::ip::tcp;

/// The stream of one connection, plain or encrypted; an AsyncStream of Boost.Asio.
class Wire {
  public:
    using executor_type = beast::tcp_stream::executor_type;

    /// @param tls  null: plain. Must outlive the stream.
    Wire(tcp::socket socket, const TlsContext* tls) {
        if (tls == nullptr) {
            plain_.emplace(std::move(socket));
        } else {
            // Asio takes a context over, so this one holds another reference to it.
            SSL_CTX_up_ref(tls->handle());
            context_.emplace(tls->handle());
            tls_.emplace(std::move(socket), *context_);
        }
    }

    beast::tcp_stream& tcp_layer() { return tls_ ? tls_->next_layer() : *plain_; }
    tcp::socket& socket() { return tcp_layer().socket(); }
    executor_type get_executor() { return tcp_layer().get_executor(); }
    void close() { tcp_layer().close(); }
    void expires_never() { tcp_layer().expires_never(); }
    template <class Duration>
    void expires_after(Duration duration) {
        tcp_layer().expires_after(duration);
    }
    std::string peer() {
        beast::error_code error;
        const tcp::endpoint end = socket().remote_endpoint(error);
        return error ? std::string() : end.address().to_string();
    }

    template <class Handler>
    void handshake(Handler handler) {
        if (!tls_) return handler(beast::error_code());
        tls_->async_handshake(net::ssl::stream_base::server, std::move(handler));
    }
    /// Tells the other side that nothing follows, so that it knows that nothing was cut off.
    template <class Handler>
    void say_goodbye(Handler handler) {
        if (!tls_) return handler(beast::error_code());
        tls_->async_shutdown(std::move(handler));
    }

    template <class Buffers, class Handler>
    void async_read_some(const Buffers& buffers, Handler&& handler) {
        tls_ ? tls_->async_read_some(buffers, std::forward<Handler>(handler))
             : plain_->async_read_some(buffers, std::forward<Handler>(handler));
    }
    template <class Buffers, class Handler>
    void async_write_some(const Buffers& buffers, Handler&& handler) {
        tls_ ? tls_->async_write_some(buffers, std::forward<Handler>(handler))
             : plain_->async_write_some(buffers, std::forward<Handler>(handler));
    }

  private:
    std::optional<beast::tcp_stream> plain_;
    std::optional<net::ssl::context> context_;
    std::optional<beast::ssl_stream<beast::tcp_stream>> tls_;
};

}  // namespace anfract::http
