#include "http_server_fixture.h"

namespace anfract::http {
namespace {

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

}  // namespace
}  // namespace anfract::http
