#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/server/workspace_server.h"
#include "client.h"

namespace anfract::server {

/// A real server on a free port with a data directory of its own.
class WorkspaceTest : public ::testing::Test {
  protected:
    void SetUp() override {
        std::filesystem::remove_all(root_);
        std::filesystem::create_directories(root_);
        start();
    }
    void TearDown() override {
        server_.reset();
        std::filesystem::remove_all(root_);
    }

    void start(ServeOptions options = {}) {
        server_.reset();
        options.data = root_ / "data";
        auto started = WorkspaceServer::start(options, Progress());
        ASSERT_TRUE(started) << started.error().sentence();
        server_ = std::move(*started);
    }

    http::test::Reply ask(const std::string& method, const std::string& target,
                          const std::string& body = "", const http::test::Headers& headers = {}) {
        return http::test::ask(server_->port(), method, target, body, headers);
    }

    /// The body of an answer that must have that status.
    nlohmann::json json_of(int status, const std::string& method, const std::string& target,
                           const std::string& body = "") {
        const http::test::Reply reply = ask(method, target, body);
        EXPECT_EQ(reply.status, status) << method << " " << target << ": " << reply.body;
        return nlohmann::json::parse(reply.body, nullptr, false);
    }

    /// A refusal with a sentence of its own.
    void refuses(int status, const std::string& method, const std::string& target,
                 const std::string& body = "") {
        const nlohmann::json answer = json_of(status, method, target, body);
        ASSERT_TRUE(answer.is_object() && answer.contains("error")) << answer;
        for (const char* key : {"code", "what", "where", "remedy", "sentence"}) {
            EXPECT_TRUE(answer["error"][key].is_string()) << key;
        }
        EXPECT_GT(answer["error"]["sentence"].get<std::string>().size(), 10u);
    }

    std::filesystem::path root_ = std::filesystem::temp_directory_path() /
                                  ("anfract-workspace-test-" + std::to_string(::getpid()));
    std::unique_ptr<WorkspaceServer> server_;
};

/// An invented tooth with one gently curved canal, 12 mm long, as a hand-made anfract.tooth
/// document.
inline nlohmann::json hand_made_tooth() {
    nlohmann::json depth = nlohmann::json::array(), point = nlohmann::json::array(),
                   diameter = nlohmann::json::array();
    const double radius_mm = 40;
    for (int i = 0; i <= 48; ++i) {
        const double s_mm = i * 0.25, angle = s_mm / radius_mm;
        depth.push_back(8 + s_mm);
        point.push_back({radius_mm * (1 - std::cos(angle)), 0.0, 8 + radius_mm * std::sin(angle)});
        diameter.push_back(0.7 - 0.4 * s_mm / 12);
    }
    return {
        {"format", "anfract.tooth"},
        {"version", 1},
        {"frame", "LPS-mm"},
        {"invented", true},
        {"tooth", {{"fdi", "36"}}},
        {"reference_mm", {0, 0, 0}},
        {"canals",
         {{{"name", "MB"},
           {"orifice_mm", point.front()},
           {"foramen_mm", point.back()},
           {"joins", nullptr},
           {"leaves", nullptr},
           {"length_mm", 12.0},
           {"depth_to_foramen_mm", 20.0},
           {"samples", {{"depth_mm", depth}, {"point_mm", point}, {"diameter_mm", diameter}}}}}}};
}

}  // namespace anfract::server
