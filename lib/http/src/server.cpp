#include "anfract/http/server.h"

#include <thread>

#include "session.h"

namespace anfract::http {
namespace {

class BeastServer final : public Server {
  public:
    BeastServer(Router router, const ServerOptions& options)
        : shared_(std::move(router), options), acceptor_(shared_.io), grace_(shared_.io) {}
    ~BeastServer() override { stop(); }

    anfract::Result<void> listen() {
        beast::error_code error;
        const auto address = net::ip::make_address(shared_.options.address, error);
        if (error) {
            return fail(anfract::ErrorCode::BadInput, "is not an address", shared_.options.address,
                        "give one such as 127.0.0.1");
        }
        if (!address.is_loopback() && (shared_.options.tls.empty() || !shared_.options.guard)) {
            return fail(anfract::ErrorCode::BadInput,
                        "is not a loopback address, and others may be answered only with accounts "
                        "and TLS",
                        shared_.options.address, "use 127.0.0.1");
        }
        if (auto ready = prepare_tls(address); !ready) return ready;
        const tcp::endpoint endpoint(address, shared_.options.port);
        acceptor_.open(endpoint.protocol(), error);
        if (!error) acceptor_.set_option(net::socket_base::reuse_address(true), error);
        if (!error) acceptor_.bind(endpoint, error);
        if (!error) acceptor_.listen(net::socket_base::max_listen_connections, error);
        if (error) {
            return fail(anfract::ErrorCode::Io,
                        "port " + std::to_string(shared_.options.port) + " cannot be used (" +
                            error.message() + ")",
                        shared_.options.address, "choose another one, or 0 for any that is free");
        }
        port_ = acceptor_.local_endpoint().port();
        accept();
        thread_ = std::thread([this] { shared_.io.run(); });
        return {};
    }

    std::uint16_t port() const override { return port_; }

    void stop() override {
        if (!thread_.joinable()) return;
        net::post(shared_.io, [this] { wind_down(); });
        thread_.join();
        shared_.handlers.join();
    }

  private:
    anfract::Result<void> prepare_tls(const net::ip::address& address) {
        if (shared_.options.tls.empty()) return {};
        auto tls = TlsContext::open(shared_.options.tls);
        if (!tls) return tl::unexpected(tls.error());
        shared_.tls = std::move(*tls);
        shared_.reach.tls = true;
        shared_.reach.is_our_name = [&context = *shared_.tls,
                                     own = address.to_string()](const std::string& host) {
            return host == own || host == "[" + own + "]" || context.names(host);
        };
        return {};
    }

    void accept() {
        acceptor_.async_accept([this](beast::error_code error, tcp::socket socket) {
            if (shared_.stopping || error == net::error::operation_aborted) return;
            if (error) return retry();
            socket.set_option(tcp::no_delay(true), error);
            if (shared_.sessions.size() < shared_.options.max_connections) {
                std::make_shared<Session>(std::move(socket), shared_)->start();
            }
            accept();
        });
    }

    /// Accepting fails when the process has no descriptors left; trying again at once would only
    /// burn time.
    void retry() {
        grace_.expires_after(std::chrono::milliseconds(50));
        grace_.async_wait([this](beast::error_code error) {
            if (!error && !shared_.stopping) accept();
        });
    }

    void wind_down() {
        shared_.stopping = true;
        beast::error_code ignored;
        acceptor_.close(ignored);
        if (shared_.sessions.empty()) return;
        shared_.all_gone = [this] { grace_.cancel(); };
        grace_.expires_after(std::chrono::milliseconds(500));
        grace_.async_wait([this](beast::error_code error) {
            if (!error) each_session(&Session::cut);
        });
        each_session(&Session::wind_down);
    }

    void each_session(void (Session::*act)()) {
        std::vector<std::weak_ptr<Session>> all;
        for (Session* session : shared_.sessions) all.push_back(session->weak_from_this());
        for (const auto& weak : all) {
            if (const auto session = weak.lock()) ((*session).*act)();
        }
    }

    Shared shared_;
    tcp::acceptor acceptor_;
    net::steady_timer grace_;
    std::thread thread_;
    std::uint16_t port_ = 0;
};

}  // namespace

anfract::Result<std::unique_ptr<Server>> Server::start(Router router,
                                                       const ServerOptions& options) {
    auto server = std::make_unique<BeastServer>(std::move(router), options);
    if (const auto listening = server->listen(); !listening)
        return tl::unexpected(listening.error());
    return std::unique_ptr<Server>(std::move(server));
}

}  // namespace anfract::http
