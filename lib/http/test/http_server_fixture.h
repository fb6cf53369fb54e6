#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <functional>
#include <limits>
#include <memory>
#include <mutex>
#include <thread>
#include <vector>

#include "anfract/http/server.h"
#include "client.h"

namespace anfract::http {

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
        router.add("GET", "/file", [this](Request&) {
            const auto path = directory_ / "answer";
            std::ofstream(path) << std::string(20'000'000, 'F');
            Response response = respond(200, "application/json", "");
            response.file = MappedFile::take(path).value();
            return response;
        });
        router.add("GET", "/json", [](Request&) {
            return respond(200, "application/json", "[" + std::string(100'000, ' ') + "1]");
        });
        router.add("GET", "/slower", [](Request&) {
            std::this_thread::sleep_for(1500ms);
            return respond(200, "text/plain", "slow");
        });
        router.add("GET", "/long", [this](Request& request) {
            long_began_ = true;
            for (int i = 0; i < 1000 && !request.waiting->cancelled(); ++i)
                std::this_thread::sleep_for(10ms);
            long_given_up_ = request.waiting->cancelled();
            return respond(200, "text/plain", "long");
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

    const std::string listen = "GET /events HTTP/1.1\r\nHost: localhost\r\n\r\n";
    std::filesystem::path directory_;
    std::atomic<bool> long_began_ = false, long_given_up_ = false;
    std::mutex mutex_;
    std::vector<std::shared_ptr<EventStream>> streams_;
    std::unique_ptr<Server> server_;
};

}  // namespace anfract::http
