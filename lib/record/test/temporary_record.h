#pragma once

#include <gtest/gtest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <filesystem>

#include "anfract/record/record.h"

namespace anfract::record {

/// A record in a folder of its own.
class RecordTest : public ::testing::Test {
  protected:
    void SetUp() override {
        std::filesystem::remove_all(root_);
        std::filesystem::create_directories(root_);
        open();
    }
    void TearDown() override {
        record_.reset();
        std::filesystem::remove_all(root_);
    }

    void open() {
        record_.reset();
        auto opened = Record::open(RecordPlace::below(root_));
        ASSERT_TRUE(opened) << opened.error().sentence();
        record_ = std::move(*opened);
    }

    /// A new invented case with a tooth file of those bytes.
    std::string new_case(const std::string& label = "invented", const std::string& tooth = "{}") {
        const auto added = record_->cases().add({"", "", "", "36", label, true},
                                                {"tooth", tooth, "tooth.json"}, "");
        EXPECT_TRUE(added) << added.error().sentence();
        return added ? added->id : "";
    }

    /// Runs statements on the database's file without this program's help. False when one fails.
    bool change_database(const std::string& statements) {
        sqlite3* database = nullptr;
        bool done = sqlite3_open((root_ / "record.sqlite").c_str(), &database) == SQLITE_OK;
        done = done &&
               sqlite3_exec(database, statements.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK;
        sqlite3_close(database);
        return done;
    }

    std::filesystem::path root_ = std::filesystem::temp_directory_path() /
                                  ("anfract-record-test-" + std::to_string(::getpid()));
    std::unique_ptr<Record> record_;
};

}  // namespace anfract::record
