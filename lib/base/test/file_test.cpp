#include "anfract/base/file.h"

#include <gtest/gtest.h>
#include <unistd.h>

namespace anfract {

class FileTest : public testing::Test {
  protected:
    void SetUp() override { std::filesystem::create_directories(folder_); }
    void TearDown() override { std::filesystem::remove_all(folder_); }
    std::filesystem::path folder_ =
        std::filesystem::temp_directory_path() / ("anfract-file-test-" + std::to_string(::getpid()));
};

TEST_F(FileTest, ReadsBackWhatWasWritten) {
    const std::string bytes("a\0b\n", 4);
    ASSERT_TRUE(write_file_atomically(folder_ / "x", bytes));
    EXPECT_EQ(read_file(folder_ / "x").value(), bytes);
}

TEST_F(FileTest, LeavesNothingBesideTheFile) {
    ASSERT_TRUE(write_file_atomically(folder_ / "x", "1"));
    ASSERT_TRUE(write_file_atomically(folder_ / "x", "2"));
    EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder_), {}), 1);
}

TEST_F(FileTest, KeepsAPrivateFilePrivate) {
    ASSERT_TRUE(write_file_atomically(folder_ / "x", "1", 0600));
    EXPECT_EQ(std::filesystem::status(folder_ / "x").permissions(), std::filesystem::perms(0600));
}

TEST_F(FileTest, SaysWhatIsMissingAndRefusesAFolder) {
    EXPECT_EQ(read_file(folder_ / "none").error().code, ErrorCode::NotFound);
    EXPECT_EQ(read_file(folder_).error().code, ErrorCode::Io);
    EXPECT_EQ(write_file_atomically(folder_ / "no" / "x", "1").error().code, ErrorCode::Io);
}

TEST_F(FileTest, RefusesAFileOverTheLimit) {
    ASSERT_TRUE(write_file_atomically(folder_ / "x", std::string(100, 'a')));
    EXPECT_FALSE(read_file(folder_ / "x", 99));
    EXPECT_TRUE(read_file(folder_ / "x", 100));
}

/// /dev/full refuses every write with ENOSPC; a link to it stands in for a full disk.
TEST_F(FileTest, ReportsAFullDisk) {
    std::filesystem::create_symlink("/dev/full",
                                    folder_ / ("x.part-" + std::to_string(::getpid())));
    const auto result = write_file_atomically(folder_ / "x", "1");
    ASSERT_FALSE(result);
    EXPECT_NE(result.error().sentence().find("No space left"), std::string::npos);
    EXPECT_FALSE(std::filesystem::exists(folder_ / "x"));
}

}  // namespace anfract
