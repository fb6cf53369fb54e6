#include "data_directory.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <nlohmann/json.hpp>

#include "anfract/base/file.h"

namespace anfract::server {
namespace {

namespace fs = std::filesystem;

class DataDirectoryTest : public ::testing::Test {
  protected:
    void TearDown() override { fs::remove_all(root_); }
    fs::path root_ =
        fs::temp_directory_path() / ("anfract-data-test-" + std::to_string(::getpid()));
};

TEST_F(DataDirectoryTest, IsForTheUserOnly) {
    const auto directory = DataDirectory::open(root_ / "deep" / "down");
    ASSERT_TRUE(directory) << directory.error().sentence();
    for (const fs::path& folder : {(*directory)->root(), (*directory)->uploads(),
                                   (*directory)->scans(), (*directory)->cases()}) {
        EXPECT_EQ(fs::status(folder).permissions(), fs::perms(0700)) << folder;
    }
    ASSERT_TRUE(write_private((*directory)->tray_file(), "{}"));
    EXPECT_EQ(fs::status((*directory)->tray_file()).permissions(), fs::perms(0600));
}

TEST_F(DataDirectoryTest, ServesOneServerAtATime) {
    auto first = DataDirectory::open(root_);
    ASSERT_TRUE(first);
    const auto second = DataDirectory::open(root_);
    ASSERT_FALSE(second);
    EXPECT_THAT(second.error().sentence(), ::testing::HasSubstr("another server"));
    first->reset();
    EXPECT_TRUE(DataDirectory::open(root_));
}

TEST_F(DataDirectoryTest, RefusesAPlaceThatIsNoFolder) {
    fs::create_directories(root_);
    ASSERT_TRUE(write_file_atomically(root_ / "file", "x"));
    EXPECT_FALSE(DataDirectory::open(root_ / "file"));
}

TEST_F(DataDirectoryTest, ForgetsWhatACrashLeftHalfWay) {
    ASSERT_TRUE(DataDirectory::open(root_));
    fs::create_directories(root_ / "cases" / (".new-" + new_id()));
    ASSERT_TRUE(write_private(root_ / "uploads" / "arriving-x", "x"));
    ASSERT_TRUE(DataDirectory::open(root_));
    EXPECT_TRUE(fs::is_empty(root_ / "cases"));
    EXPECT_TRUE(fs::is_empty(root_ / "uploads"));
}

TEST(Id, IsRecognisedAndNothingElseIs) {
    EXPECT_TRUE(is_id(new_id()));
    EXPECT_NE(new_id(), new_id());
    for (const char* bad : {"", "..", "0123456789abcde", "0123456789abcdeF", "0123456789abcde/",
                            "0123456789abcdef0"}) {
        EXPECT_FALSE(is_id(bad)) << bad;
    }
}

}  // namespace
}  // namespace anfract::server
