#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "anfract/base/file.h"
#include "anfract/http/problem.h"
#include "anfract/http/server.h"
#include "client.h"

namespace anfract::http {
namespace {

namespace fs = std::filesystem;
using test::ask_encrypted;
using test::Reply;
using ::testing::HasSubstr;

class Tls : public ::testing::Test {
  protected:
    void SetUp() override {
        fs::create_directories(folder_);
        test::make_certificate(folder_.string());
        options_.tls = {folder_ / "cert.pem", folder_ / "key.pem"};
    }
    void TearDown() override {
        server_.reset();
        fs::remove_all(folder_);
    }
    Result<std::unique_ptr<Server>> start() {
        Router router;
        router.add("GET", "/large", [](Request&) {
            return respond(200, "application/octet-stream", std::string(3'000'000, 'L'));
        });
        router.add("GET", "/events", [](Request&) {
            Response response;
            response.stream = [](const std::shared_ptr<EventStream>& stream) {
                stream->send("hello", "1");
                stream->close();
            };
            return response;
        });
        router.add(
            "POST", "/file",
            [](Request& request) {
                return respond(201, "text/plain",
                               request.user + std::to_string(fs::file_size(request.body_file)));
            },
            BodyRule::file(folder_, 3'000'000));
        return Server::start(std::move(router), options_);
    }
    void started() {
        auto server = start();
        ASSERT_TRUE(server) << server.error().sentence();
        server_ = std::move(*server);
    }
    Reply ask(const std::string& method, const std::string& target, const std::string& body = "",
              test::Headers headers = {}) {
        if (!body.empty()) headers.emplace_back("Content-Type", "application/octet-stream");
        return ask_encrypted(server_->port(), (folder_ / "cert.pem").string(), method, target, body,
                             headers);
    }

    fs::path folder_ = fs::temp_directory_path() / ("anfract-tls-" + std::to_string(::getpid()));
    ServerOptions options_;
    std::unique_ptr<Server> server_;
};

TEST_F(Tls, CarriesAnswersBodiesAndEventsWhole) {
    started();
    EXPECT_EQ(ask("GET", "/large").body, std::string(3'000'000, 'L'));
    EXPECT_EQ(ask("POST", "/file", std::string(2'500'000, 'u')).body, "2500000");
    EXPECT_EQ(ask("POST", "/file", std::string(3'000'001, 'u')).status, 413);
    EXPECT_THAT(ask("GET", "/events").body, HasSubstr("data: 1"));
}

TEST_F(Tls, AnswersToTheNamesOfItsCertificate) {
    started();
    for (const char* good : {"anfract.test", "anfract.test:8643", "127.0.0.1"})
        EXPECT_EQ(ask("GET", "/large", "", {{"Host", good}}).status, 200) << good;
    for (const char* bad : {"evil.example", "x.anfract.test", "192.0.2.1"})
        EXPECT_EQ(ask("GET", "/large", "", {{"Host", bad}}).status, 421) << bad;
    EXPECT_EQ(
        ask("GET", "/large", "", {{"Host", "anfract.test"}, {"Origin", "https://anfract.test"}})
            .status,
        200);
    EXPECT_EQ(
        ask("GET", "/large", "", {{"Host", "anfract.test"}, {"Origin", "http://anfract.test"}})
            .status,
        403);
}

TEST_F(Tls, GivesAPlainClientNothing) {
    started();
    EXPECT_EQ(test::ask(server_->port(), "GET", "/large").status, 0);
    EXPECT_EQ(ask("GET", "/large").status, 200);
}

TEST_F(Tls, RefusesKeysThatOthersMayReadOrThatDoNotBelong) {
    fs::permissions(folder_ / "key.pem", fs::perms(0640));
    const auto open = start();
    ASSERT_FALSE(open);
    EXPECT_THAT(open.error().sentence(), HasSubstr("chmod 600"));
    fs::permissions(folder_ / "key.pem", fs::perms(0600));
    ASSERT_TRUE(write_file_atomically(folder_ / "cert.pem", "no certificate"));
    EXPECT_FALSE(start());
    test::make_certificate(folder_.string());
    const std::string cert = read_file(folder_ / "cert.pem").value();
    test::make_certificate(folder_.string());
    ASSERT_TRUE(write_file_atomically(folder_ / "cert.pem", cert));
    EXPECT_FALSE(start());
    options_.tls.key = folder_ / "none.pem";
    EXPECT_FALSE(start());
}

TEST_F(Tls, ListensBeyondLoopbackOnlyWithTlsAndAGuard) {
    const Guard nobody = [](Request&, const Route&) -> std::optional<Response> {
        return problem(401, "sign_in", {ErrorCode::BadInput, "nobody may", "", ""});
    };
    options_.address = "0.0.0.0";
    EXPECT_FALSE(start());  // no guard
    options_.guard = nobody;
    const TlsFiles tls = options_.tls;
    options_.tls = {};
    EXPECT_FALSE(start());  // no TLS
    options_.tls = tls;
    started();
    const Reply refused = ask("GET", "/large");
    EXPECT_EQ(refused.status, 401);
    EXPECT_EQ(refused.headers.at("strict-transport-security"), "max-age=31536000");
}

TEST_F(Tls, AsksTheGuardBeforeABodyIsTaken) {
    options_.guard = [](Request& request, const Route& route) -> std::optional<Response> {
        EXPECT_EQ(route.name(), "POST /file");
        EXPECT_EQ(request.peer, "127.0.0.1");
        request.user = "someone";
        if (request.header("x-let")) return std::nullopt;
        return problem(403, "forbidden", {ErrorCode::BadInput, "may not", "", ""});
    };
    started();
    const test::Headers ours{{"Sec-Fetch-Site", "same-origin"}};
    EXPECT_EQ(ask("POST", "/file", std::string(2'000'000, 'u'), ours).status, 403);
    EXPECT_EQ(std::distance(fs::directory_iterator(folder_), {}), 2);  // the certificate and key
    EXPECT_EQ(ask("POST", "/file", "abc", {ours[0], {"X-Let", "1"}, {"Cookie", "a=b"}}).body,
              "someone3");
    // A cookie would come along with another page's request, so one that does not say where it
    // comes from is refused.
    EXPECT_EQ(ask("POST", "/file", "abc", {{"X-Let", "1"}, {"Cookie", "a=b"}}).status, 403);
}

}  // namespace
}  // namespace anfract::http
