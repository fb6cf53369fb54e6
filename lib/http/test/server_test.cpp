#include "anfract/http/server.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <future>
#include <limits>
#include <mutex>
#include <thread>

#include "anfract/base/file.h"
#include "client.h"

namespace anfract::http {
namespace {

using namespace std::chrono_literals;
using test::ask;
using test::RawConnection;
using test::Reply;
using ::testing::HasSubstr;

/// A real server on a free port, with a few routes of its own.
class HttpServer : public ::testing::Test {
  protected:
    void SetUp() override {
        directory_ = std::filesystem::path(ANFRACT_BINARY_DIR) /
                     ("http-test-" +
                      std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
        std::filesystem::remove_all(directory_);
        std::filesystem::create_directories(directory_);
        start({});
    }
    void TearDown() override {
        server_.reset();
        std::filesystem::remove_all(directory_);
    }

    void start(ServerOptions options) {
        server_.reset();
        Router router;
        router.add("GET", "/echo/{word}", [](Request& request) {
            return respond(200, "text/plain",
                           request.parameters.at("word") + request.query_value("q").value_or(""));
        });
        router.add("GET", "/large", [](Request&) {
            return respond(200, "application/octet-stream", std::string(20'000'000, 'L'));
        });
        router.add("GET", "/json", [](Request&) {
            return respond(200, "application/json", "[" + std::string(100'000, ' ') + "1]");
        });
        router.add("GET", "/slower", [](Request&) {
            std::this_thread::sleep_for(1500ms);
            return respond(200, "text/plain", "slow");
        });
        router.add("GET", "/slow", [](Request&) {
            std::this_thread::sleep_for(300ms);
            return respond(200, "text/plain", "slow");
        });
        router.add("GET", "/defect",
                   [](Request&) -> Response { throw std::runtime_error("a defect"); });
        router.add(
            "POST", "/json",
            [](Request& request) {
                return respond(201, "text/plain", std::to_string(request.body.size()));
            },
            BodyRule::json(1000));
        router.add(
            "POST", "/file",
            [this](Request& request) {
                const std::uintmax_t size = std::filesystem::file_size(request.body_file);
                if (request.query_value("keep"))
                    std::filesystem::rename(request.body_file, directory_ / "kept");
                return respond(201, "text/plain", std::to_string(size));
            },
            BodyRule::file(directory_, 3'000'000));
        router.add(
            "POST", "/boundless", [](Request&) { return Response{}; },
            BodyRule::file(directory_, std::numeric_limits<std::uint64_t>::max()));
        router.add("GET", "/events", [this](Request&) {
            Response response;
            response.stream = [this](std::shared_ptr<EventStream> stream) {
                stream->send("hello", "1");
                const std::lock_guard lock(mutex_);
                streams_.push_back(std::move(stream));
            };
            return response;
        });
        auto started = Server::start(std::move(router), options);
        ASSERT_TRUE(started) << started.error().sentence();
        server_ = std::move(*started);
    }

    std::uint16_t port() const { return server_->port(); }
    std::size_t stream_count() {
        const std::lock_guard lock(mutex_);
        return streams_.size();
    }
    void send_to_all(const std::string& name, const std::string& data) {
        const std::lock_guard lock(mutex_);
        for (const auto& stream : streams_) stream->send(name, data);
    }
    std::size_t files_left() const {
        return static_cast<std::size_t>(
            std::distance(std::filesystem::directory_iterator(directory_), {}));
    }
    void await(const std::function<bool()>& condition) {
        for (int i = 0; i < 500 && !condition(); ++i) std::this_thread::sleep_for(10ms);
        EXPECT_TRUE(condition());
    }

    std::filesystem::path directory_;
    std::mutex mutex_;
    std::vector<std::shared_ptr<EventStream>> streams_;
    std::unique_ptr<Server> server_;
};

const Reply& holds_security_headers(const Reply& reply) {
    EXPECT_THAT(reply.headers.at("content-security-policy"), HasSubstr("default-src 'self'"));
    EXPECT_THAT(reply.headers.at("content-security-policy"), HasSubstr("frame-ancestors 'none'"));
    EXPECT_EQ(reply.headers.at("x-content-type-options"), "nosniff");
    EXPECT_EQ(reply.headers.at("referrer-policy"), "no-referrer");
    return reply;
}

TEST_F(HttpServer, AnswersARoute) {
    const Reply reply = ask(port(), "GET", "/echo/a%20b?q=c");
    EXPECT_EQ(reply.status, 200);
    EXPECT_EQ(reply.body, "a bc");
    EXPECT_EQ(holds_security_headers(reply).headers.at("cache-control"), "no-store");
}

TEST_F(HttpServer, RefusesUnknownPathsAndMethods) {
    EXPECT_EQ(holds_security_headers(ask(port(), "GET", "/none")).status, 404);
    const Reply wrong = ask(port(), "DELETE", "/json");
    EXPECT_EQ(wrong.status, 405);
    EXPECT_EQ(wrong.headers.at("allow"), "GET, HEAD, POST");
    EXPECT_EQ(ask(port(), "FROB", "/json").status, 405);
    EXPECT_THAT(ask(port(), "GET", "/none").body, HasSubstr("\"sentence\":"));
}

TEST_F(HttpServer, HeadHasTheLengthButNoBody) {
    const Reply reply = ask(port(), "HEAD", "/large");
    EXPECT_EQ(reply.status, 200);
    EXPECT_EQ(reply.headers.at("content-length"), "20000000");
    EXPECT_TRUE(reply.body.empty());
}

TEST_F(HttpServer, SendsLargeAnswersWhole) {
    EXPECT_EQ(ask(port(), "GET", "/large").body, std::string(20'000'000, 'L'));
}

TEST_F(HttpServer, CompressesJsonIfAccepted) {
    const Reply reply = ask(port(), "GET", "/json", "", {{"Accept-Encoding", "gzip"}});
    EXPECT_EQ(reply.headers.at("content-encoding"), "gzip");
    EXPECT_LT(reply.body.size(), 2000u);
    EXPECT_EQ(test::gunzip(reply.body), "[" + std::string(100'000, ' ') + "1]");
    EXPECT_EQ(ask(port(), "GET", "/json").headers.count("content-encoding"), 0u);
}

TEST_F(HttpServer, ADefectCostsOneRequestOnly) {
    EXPECT_EQ(ask(port(), "GET", "/defect").status, 500);
    EXPECT_EQ(ask(port(), "GET", "/echo/on").body, "on");
}

// ---- who may ask ----

TEST_F(HttpServer, AnswersOnlyToNamesOfThisMachine) {
    for (const char* good : {"127.0.0.1", "localhost:81", "[::1]:8080", "127.0.0.1:9"}) {
        EXPECT_EQ(ask(port(), "GET", "/echo/x", "", {{"Host", good}}).status, 200) << good;
    }
    for (const char* bad :
         {"evil.example", "127.0.0.1.evil.example", "localhost.evil.example:80", "10.0.0.1", ""}) {
        EXPECT_EQ(ask(port(), "GET", "/echo/x", "", {{"Host", bad}}).status, 421) << bad;
    }
    RawConnection without(port());
    without.send("GET /echo/x HTTP/1.1\r\n\r\n");
    EXPECT_THAT(without.read_until("\r\n\r\n"), HasSubstr(" 400 "));
}

TEST_F(HttpServer, RefusesRequestsOfOtherSites) {
    const std::string ours = "http://127.0.0.1:" + std::to_string(port());
    EXPECT_EQ(ask(port(), "POST", "/json", "{}", {{"Origin", ours}}).status, 201);
    for (const char* bad :
         {"http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1"}) {
        EXPECT_EQ(ask(port(), "POST", "/json", "{}", {{"Origin", bad}}).status, 403) << bad;
    }
    EXPECT_EQ(ask(port(), "GET", "/echo/x", "", {{"Sec-Fetch-Site", "cross-site"}}).status, 403);
    EXPECT_EQ(ask(port(), "GET", "/echo/x", "", {{"Sec-Fetch-Site", "same-origin"}}).status, 200);
    // A link on another page may lead here, as long as it only looks.
    EXPECT_EQ(ask(port(), "GET", "/echo/x", "",
                  {{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Mode", "navigate"}})
                  .status,
              200);
}

TEST_F(HttpServer, ListensOnLoopbackOnly) {
    ServerOptions everywhere;
    everywhere.address = "0.0.0.0";
    EXPECT_FALSE(Server::start(Router(), everywhere));
}

TEST_F(HttpServer, RefusesATakenPort) {
    ServerOptions same;
    same.port = port();
    const auto second = Server::start(Router(), same);
    ASSERT_FALSE(second);
    EXPECT_THAT(second.error().sentence(), HasSubstr(std::to_string(port())));
}

// ---- bodies ----

TEST_F(HttpServer, RefusesWrongMediaTypesAndUnwantedBodies) {
    EXPECT_EQ(
        ask(port(), "POST", "/json", "a=b", {{"Content-Type", "application/x-www-form-urlencoded"}})
            .status,
        415);
    EXPECT_EQ(
        ask(port(), "POST", "/json", "{}", {{"Content-Type", "Application/JSON; charset=utf-8"}})
            .status,
        201);
    EXPECT_EQ(ask(port(), "POST", "/file", "{}").status, 415);
    EXPECT_EQ(ask(port(), "GET", "/echo/x", "body").status, 413);
}

TEST_F(HttpServer, RefusesBodiesOverTheLimitWithOrWithoutALength) {
    EXPECT_EQ(ask(port(), "POST", "/json", std::string(1000, ' ')).status, 201);
    EXPECT_EQ(ask(port(), "POST", "/json", std::string(1001, ' ')).status, 413);
    RawConnection chunked(port());
    chunked.send(
        "POST /json HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        "Transfer-Encoding: chunked\r\n\r\n3e9\r\n" +
        std::string(1001, ' ') + "\r\n0\r\n\r\n");
    EXPECT_THAT(chunked.read_until("}}"), HasSubstr(" 413 "));
}

TEST_F(HttpServer, StreamsABodyToAFileThatGoesUnlessKept) {
    const test::Headers octets{{"Content-Type", "application/octet-stream"}};
    EXPECT_EQ(ask(port(), "POST", "/file", std::string(2'500'000, 'u'), octets).body, "2500000");
    EXPECT_EQ(files_left(), 0u);
    std::string bytes(2'500'000, '\0');
    for (std::size_t i = 0; i < bytes.size(); ++i)
        bytes[i] = static_cast<char>(i * 2654435761u >> 13);
    EXPECT_EQ(ask(port(), "POST", "/file?keep=1", bytes, octets).status, 201);
    EXPECT_EQ(read_file(directory_ / "kept").value(), bytes);
    EXPECT_EQ(std::filesystem::status(directory_ / "kept").permissions(),
              std::filesystem::perms(0600));
}

TEST_F(HttpServer, RefusesAnEmptyFile) {
    const Reply reply =
        ask(port(), "POST", "/file", "", {{"Content-Type", "application/octet-stream"}});
    EXPECT_EQ(reply.status, 400);
    EXPECT_THAT(reply.body, HasSubstr("the file is empty"));
    EXPECT_EQ(files_left(), 0u);
}

TEST_F(HttpServer, AFileOverTheLimitLeavesNothing) {
    EXPECT_EQ(ask(port(), "POST", "/file", std::string(3'000'001, 'u'),
                  {{"Content-Type", "application/octet-stream"}})
                  .status,
              413);
    RawConnection chunked(port());
    chunked.send(
        "POST /file HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/octet-stream\r\n"
        "Transfer-Encoding: chunked\r\n\r\n");
    for (int i = 0; i < 4; ++i) chunked.send("f4240\r\n" + std::string(1'000'000, 'u') + "\r\n");
    EXPECT_THAT(chunked.read_until("}}"), HasSubstr(" 413 "));
    await([&] { return files_left() == 0; });
}

TEST_F(HttpServer, ABodyThatCannotFitOnTheDiskIsRefusedBeforeItIsSent) {
    RawConnection connection(port());
    connection.send(
        "POST /boundless HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/octet-stream\r\n"
        "Content-Length: 4611686018427387904\r\n\r\n");
    EXPECT_THAT(connection.read_until("}}"), HasSubstr(" 507 "));
    EXPECT_EQ(files_left(), 0u);
}

TEST_F(HttpServer, ATruncatedBodyLeavesNothing) {
    {
        RawConnection half(port());
        half.send(
            "POST /file HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/octet-stream\r\n"
            "Content-Length: 2000000\r\n\r\n" +
            std::string(1'000'000, 'u'));
        await([&] { return files_left() == 1; });
        half.end_of_input();
        EXPECT_TRUE(half.closes_within(5s));
    }
    await([&] { return files_left() == 0; });
}

TEST_F(HttpServer, TakesTwoFilesAtOnce) {
    const auto post = [this](char fill) {
        return ask(port(), "POST", "/file", std::string(2'000'000, fill),
                   {{"Content-Type", "application/octet-stream"}})
            .body;
    };
    auto other = std::async(std::launch::async, post, 'b');
    EXPECT_EQ(post('a'), "2000000");
    EXPECT_EQ(other.get(), "2000000");
}

// RFC 9110, section 10.1.1.
TEST_F(HttpServer, SaysContinueToThoseWhoWait) {
    RawConnection waiting(port());
    waiting.send(
        "POST /json HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        "Content-Length: 2\r\nExpect: 100-continue\r\n\r\n");
    EXPECT_THAT(waiting.read_until("\r\n\r\n"), HasSubstr("HTTP/1.1 100 Continue"));
    waiting.send("{}");
    EXPECT_THAT(waiting.read_until(" 201 "), HasSubstr(" 201 Created"));
}

// ---- connections ----

TEST_F(HttpServer, KeepsAConnectionAliveAlsoForPipelinedRequests) {
    RawConnection connection(port());
    const std::string request = "GET /echo/again HTTP/1.1\r\nHost: localhost\r\n\r\n";
    connection.send(request + request);
    connection.read_until("again", 5s);
    const std::string last =
        "GET /echo/last HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    connection.send(last);
    const std::string all = connection.read_until("last");
    EXPECT_EQ(std::count(all.begin(), all.end(), '{'), 0);
    std::size_t answers = 0;
    for (std::size_t at = all.find("HTTP/1.1 200"); at != std::string::npos;
         at = all.find("HTTP/1.1 200", at + 1))
        ++answers;
    EXPECT_EQ(answers, 3u);
    EXPECT_TRUE(connection.closes_within(5s));
}

TEST_F(HttpServer, RefusesMalformedAndOversizedHeads) {
    for (const std::string& bad :
         {std::string("NONSENSE\r\n\r\n"), std::string("GET / HTTP/9.9\r\n\r\n"),
          std::string("GET /\r\nHost: localhost\r\n\r\n"),
          std::string("GET / HTTP/1.1\r\nBad Header\r\n\r\n")}) {
        RawConnection connection(port());
        connection.send(bad);
        EXPECT_THAT(connection.read_until("\r\n\r\n"), HasSubstr(" 400 ")) << bad;
    }
    EXPECT_EQ(ask(port(), "GET", "/echo/x", "", {{"X-Large", std::string(20'000, 'h')}}).status,
              431);
    EXPECT_EQ(ask(port(), "GET", "/echo/%2e%2e%2fx").status, 400);
}

// Request smuggling needs two readings of where a body ends (RFC 9112, section 6.3).
TEST_F(HttpServer, RefusesAmbiguousLengths) {
    for (const char* lengths :
         {"Content-Length: 2\r\nContent-Length: 3\r\n",
          "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n", "Content-Length: -1\r\n",
          "Content-Length: 99999999999999999999999\r\n"}) {
        RawConnection connection(port());
        connection.send(
            std::string(
                "POST /json HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n") +
            lengths + "\r\n{}");
        EXPECT_THAT(connection.read_until("\r\n\r\n"), HasSubstr(" 400 ")) << lengths;
    }
}

TEST_F(HttpServer, ASlowClientIsDroppedAndHoldsUpNobody) {
    ServerOptions options;
    options.idle_timeout = 300ms;
    options.chunk_timeout = 300ms;
    start(options);
    RawConnection head(port()), body(port());
    head.send("GET /echo/x HT");
    body.send(
        "POST /json HTTP/1.1\r\nHost: localhost\r\nContent-Type: "
        "application/json\r\nContent-Length: 9\r\n\r\n{");
    EXPECT_EQ(ask(port(), "GET", "/echo/x").body, "x");
    EXPECT_TRUE(head.closes_within(3s));
    EXPECT_TRUE(body.closes_within(3s));
}

TEST_F(HttpServer, ASlowHandlerHoldsUpNobody) {
    std::vector<std::future<Reply>> slow;
    for (int i = 0; i < 3; ++i)
        slow.push_back(
            std::async(std::launch::async, [this] { return ask(port(), "GET", "/slower"); }));
    std::this_thread::sleep_for(50ms);
    const auto start_time = std::chrono::steady_clock::now();
    EXPECT_EQ(ask(port(), "GET", "/echo/x").body, "x");
    EXPECT_LT(std::chrono::steady_clock::now() - start_time, 1s);
    for (auto& reply : slow) EXPECT_EQ(reply.get().body, "slow");
}

TEST_F(HttpServer, MoreConnectionsThanAllowedAreClosed) {
    ServerOptions options;
    options.max_connections = 2;
    start(options);
    RawConnection one(port()), two(port());
    one.send("G");
    two.send("G");
    std::this_thread::sleep_for(50ms);
    RawConnection three(port());
    EXPECT_TRUE(three.closes_within(2s));
}

// ---- events ----

const std::string listen = "GET /events HTTP/1.1\r\nHost: localhost\r\n\r\n";

TEST_F(HttpServer, StreamsEvents) {
    RawConnection client(port());
    client.send(listen);
    EXPECT_THAT(client.read_until("hello"), HasSubstr("text/event-stream"));
    await([&] { return stream_count() == 1; });
    send_to_all("progress", "{\"fraction\":0.5}");
    EXPECT_THAT(client.read_until("0.5}\n\n"),
                HasSubstr("event: progress\ndata: {\"fraction\":0.5}\n\n"));
    streams_.front()->close();
    EXPECT_TRUE(client.closes_within(5s));
}

TEST_F(HttpServer, NoticesThatAListenerHasGone) {
    {
        RawConnection client(port());
        client.send(listen);
        client.read_until("hello");
        await([&] { return stream_count() == 1; });
    }
    await([&] { return streams_.front()->closed(); });
}

TEST_F(HttpServer, ASilentStreamBeats) {
    ServerOptions options;
    options.heartbeat = 50ms;
    start(options);
    RawConnection client(port());
    client.send(listen);
    EXPECT_THAT(client.read_until(":\n\n:\n\n", 3s), HasSubstr(":\n\n:\n\n"));
}

TEST_F(HttpServer, FiftyListenersDoNotSlowOtherRequests) {
    std::vector<std::unique_ptr<RawConnection>> listeners;
    for (int i = 0; i < 50; ++i) {
        listeners.push_back(std::make_unique<RawConnection>(port()));
        listeners.back()->send(listen);
    }
    await([&] { return stream_count() == 50; });
    const auto start_time = std::chrono::steady_clock::now();
    for (int i = 0; i < 100; ++i) EXPECT_EQ(ask(port(), "GET", "/echo/x").status, 200);
    // 20 ms a request is far above what loopback takes and far below any time-out that blocking
    // would show.
    EXPECT_LT(std::chrono::steady_clock::now() - start_time, 2s);
    send_to_all("n", "last");
    for (auto& listener : listeners)
        EXPECT_THAT(listener->read_until("last"), HasSubstr("data: last"));
}

// ---- the end ----

TEST_F(HttpServer, StopsAtOnceWithIdleConnectionsAndListeners) {
    RawConnection idle(port()), listener(port());
    idle.send("GET /ec");
    listener.send(listen);
    await([&] { return stream_count() == 1; });
    const auto start_time = std::chrono::steady_clock::now();
    server_->stop();
    EXPECT_LT(std::chrono::steady_clock::now() - start_time, 400ms);
    EXPECT_TRUE(idle.closes_within(1s));
    EXPECT_TRUE(listener.closes_within(1s));
    streams_.front()->send("late", "is ignored");
    server_->stop();
}

TEST_F(HttpServer, FinishesTheAnswerUnderWay) {
    auto reply = std::async(std::launch::async, [this] { return ask(port(), "GET", "/slow"); });
    std::this_thread::sleep_for(100ms);
    server_->stop();
    EXPECT_EQ(reply.get().body, "slow");
}

}  // namespace
}  // namespace anfract::http
