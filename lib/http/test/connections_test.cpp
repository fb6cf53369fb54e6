#include <future>

#include "http_server_fixture.h"

namespace anfract::http {
namespace {

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

TEST_F(HttpServer, TellsAHandlerWhenNobodyWaitsAnyMore) {
    {
        RawConnection client(port());
        client.send("GET /long HTTP/1.1\r\nHost: localhost\r\n\r\n");
        await([&] { return long_began_.load(); });
        std::this_thread::sleep_for(500ms);
        EXPECT_FALSE(long_given_up_) << "the client is still there";
    }
    await([&] { return long_given_up_.load(); });
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

}  // namespace
}  // namespace anfract::http
