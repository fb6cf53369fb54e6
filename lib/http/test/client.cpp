#include "client.h"

#include <poll.h>
#include <zlib.h>

// clang-format off: Boost 1.74's coroutine headers need std::exchange but do not include it
#include <utility>
#include <boost/asio.hpp>
// clang-format on
#include <boost/asio/ssl.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <cstdlib>
#include <stdexcept>

namespace anfract::http::test {
namespace net = boost::asio;
namespace beast = boost::beast;
namespace bhttp = boost::beast::http;
using tcp = net::ip::tcp;

namespace {

tcp::endpoint loopback(std::uint16_t port) { return {net::ip::address_v4::loopback(), port}; }

std::string lower(beast::string_view text) {
    std::string result(text);
    for (char& c : result) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return result;
}

}  // namespace

namespace {

template <class Stream>
Reply ask_on(Stream& socket, std::uint16_t port, const std::string& method,
             const std::string& target, const std::string& body, const Headers& headers) {
    bhttp::request<bhttp::string_body> request(bhttp::string_to_verb(method), target, 11, body);
    if (request.method() == bhttp::verb::unknown) request.method_string(method);
    request.set(bhttp::field::host, "127.0.0.1:" + std::to_string(port));
    request.set(bhttp::field::connection, "close");
    if (!body.empty()) request.set(bhttp::field::content_type, "application/json");
    if (!body.empty() || method == "POST" || method == "PUT") request.prepare_payload();
    for (const auto& [name, value] : headers) request.set(name, value);

    beast::error_code error;
    bhttp::write(socket, request, error);  // the answer may come before all is sent
    beast::flat_buffer buffer;
    bhttp::response_parser<bhttp::string_body> parser;
    parser.body_limit(std::uint64_t{1} << 32);
    parser.skip(method == "HEAD");
    error = {};
    bhttp::read(socket, buffer, parser, error);
    Reply reply;
    if (error && !parser.is_header_done()) return reply;
    reply.status = static_cast<int>(parser.get().result_int());
    for (const auto& field : parser.get())
        reply.headers[lower(field.name_string())] = std::string(field.value());
    reply.body = parser.get().body();
    return reply;
}

}  // namespace

Reply ask(std::uint16_t port, const std::string& method, const std::string& target,
          const std::string& body, const Headers& headers) {
    net::io_context io;
    tcp::socket socket(io);
    socket.connect(loopback(port));
    socket.set_option(tcp::no_delay(true));
    return ask_on(socket, port, method, target, body, headers);
}

Reply ask_encrypted(std::uint16_t port, const std::string& certificate, const std::string& method,
                    const std::string& target, const std::string& body, const Headers& headers) {
    net::io_context io;
    net::ssl::context context(net::ssl::context::tls_client);
    context.set_verify_mode(net::ssl::verify_peer);
    context.load_verify_file(certificate);
    net::ssl::stream<tcp::socket> socket(io, context);
    socket.next_layer().connect(loopback(port));
    beast::error_code error;
    socket.handshake(net::ssl::stream_base::client, error);
    if (error) return {};
    return ask_on(socket, port, method, target, body, headers);
}

void make_certificate(const std::string& folder) {
    const std::string command =
        "umask 077; openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 "
        "-subj /CN=invented -addext subjectAltName=IP:127.0.0.1,DNS:anfract.test -keyout '" +
        folder + "/key.pem' -out '" + folder + "/cert.pem' 2>/dev/null";
    if (std::system(command.c_str()) != 0) throw std::runtime_error("openssl");
}

struct RawConnection::Implementation {
    net::io_context io;
    tcp::socket socket{io};
};

RawConnection::RawConnection(std::uint16_t port)
    : implementation_(std::make_unique<Implementation>()) {
    implementation_->socket.connect(loopback(port));
}

RawConnection::~RawConnection() = default;

bool RawConnection::send(const std::string& bytes) {
    beast::error_code error;
    net::write(implementation_->socket, net::buffer(bytes), error);
    return !error;
}

void RawConnection::end_of_input() {
    beast::error_code ignored;
    implementation_->socket.shutdown(tcp::socket::shutdown_send, ignored);
}

const std::string& RawConnection::read_until(const std::string& text,
                                             std::chrono::milliseconds limit) {
    const auto end = std::chrono::steady_clock::now() + limit;
    while (text.empty() || received_.find(text) == std::string::npos) {
        const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
            end - std::chrono::steady_clock::now());
        pollfd waiting{implementation_->socket.native_handle(), POLLIN, 0};
        if (left.count() <= 0 || ::poll(&waiting, 1, static_cast<int>(left.count())) <= 0)
            return received_;
        std::string chunk(64 * 1024, '\0');
        beast::error_code error;
        const std::size_t size = implementation_->socket.read_some(net::buffer(chunk), error);
        received_.append(chunk, 0, size);
        if (error) return received_;
    }
    return received_;
}

bool RawConnection::closes_within(std::chrono::milliseconds limit) {
    const auto end = std::chrono::steady_clock::now() + limit;
    while (std::chrono::steady_clock::now() < end) {
        pollfd waiting{implementation_->socket.native_handle(), POLLIN, 0};
        if (::poll(&waiting, 1, 20) <= 0) continue;
        std::string chunk(64 * 1024, '\0');
        beast::error_code error;
        const std::size_t size = implementation_->socket.read_some(net::buffer(chunk), error);
        received_.append(chunk, 0, size);
        if (error) return true;
    }
    return false;
}

std::string gunzip(const std::string& bytes) {
    z_stream stream{};
    if (inflateInit2(&stream, 15 + 16) != Z_OK) throw std::runtime_error("zlib");
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
    stream.avail_in = static_cast<uInt>(bytes.size());
    std::string out, chunk(64 * 1024, '\0');
    int state = Z_OK;
    while (state == Z_OK) {
        stream.next_out = reinterpret_cast<Bytef*>(chunk.data());
        stream.avail_out = static_cast<uInt>(chunk.size());
        state = inflate(&stream, Z_NO_FLUSH);
        out.append(chunk, 0, chunk.size() - stream.avail_out);
    }
    inflateEnd(&stream);
    if (state != Z_STREAM_END) throw std::runtime_error("not gzip");
    return out;
}

}  // namespace anfract::http::test
