#include <future>

#include "anfract/base/file.h"
#include "http_server_fixture.h"

namespace anfract::http {
namespace {

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

}  // namespace
}  // namespace anfract::http
