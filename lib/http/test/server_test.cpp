#include <future>

#include "http_server_fixture.h"

namespace anfract::http {
namespace {

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

TEST_F(HttpServer, SendsAFileThatIsGoneAfterwards) {
    const Reply reply = ask(port(), "GET", "/file", "", {{"Accept-Encoding", "gzip"}});
    EXPECT_EQ(reply.body, std::string(20'000'000, 'F'));
    EXPECT_EQ(files_left(), 0u);
    EXPECT_FALSE(MappedFile::take(directory_ / "none"));
    std::ofstream(directory_ / "empty");
    EXPECT_FALSE(MappedFile::take(directory_ / "empty"));
    EXPECT_EQ(files_left(), 0u);
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
