#include "anfract/base/file.h"

#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <fstream>
#include <thread>
#include <vector>

namespace anfract {

class FileTest : public testing::Test {
  protected:
    void SetUp() override { std::filesystem::create_directories(folder_); }
    void TearDown() override { std::filesystem::remove_all(folder_); }
    std::filesystem::path folder_ = std::filesystem::temp_directory_path() /
                                    ("anfract-file-test-" + std::to_string(::getpid()));
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

TEST_F(FileTest, WritesIntoADeviceAndThroughALinkInsteadOfReplacingThem) {
    ASSERT_EQ(::mkfifo((folder_ / "pipe").c_str(), 0600), 0);
    std::string heard;
    std::jthread reader([&] { std::getline(std::ifstream(folder_ / "pipe"), heard); });
    ASSERT_TRUE(write_file_atomically(folder_ / "pipe", "through the pipe\n"));
    reader.join();
    EXPECT_EQ(heard, "through the pipe");
    EXPECT_TRUE(std::filesystem::is_fifo(folder_ / "pipe"));

    std::filesystem::create_directories(folder_ / "elsewhere");
    std::filesystem::create_symlink("elsewhere/x", folder_ / "link");
    for (const char* text : {"first", "second"}) {
        ASSERT_TRUE(write_file_atomically(folder_ / "link", text));
        EXPECT_TRUE(std::filesystem::is_symlink(folder_ / "link"));
        EXPECT_EQ(read_file(folder_ / "elsewhere/x").value(), text);
    }
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

TEST_F(FileTest, HoldsAllOfOneWriterWhenSeveralWriteAtOnce) {
    constexpr std::size_t size = 1 << 18;
    std::atomic<int> refused{0};
    {
        std::vector<std::jthread> writers;
        for (const char letter : {'a', 'b', 'c'}) {
            writers.emplace_back([&, letter] {
                for (int n = 0; n < 20; ++n) {
                    if (!write_file_atomically(folder_ / "x", std::string(size, letter))) ++refused;
                    const std::string now = read_file(folder_ / "x").value_or("");
                    if (now.size() != size || now.find_first_not_of(now[0]) != std::string::npos)
                        ++refused;
                }
            });
        }
    }
    EXPECT_EQ(refused, 0);
    EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder_), {}), 1);
}

TEST_F(FileTest, TakesNothingOverFromAnotherUnfinishedFile) {
    const auto leftover = folder_ / ("x.part-" + std::to_string(::getpid()));
    for (const char* end : {"", "-0"}) {
        std::ofstream(leftover.string() + end) << "of a run that was killed";
        std::filesystem::permissions(leftover.string() + end, std::filesystem::perms(0644));
    }
    ASSERT_TRUE(write_file_atomically(folder_ / "x", "1", 0600));
    EXPECT_EQ(read_file(folder_ / "x").value(), "1");
    EXPECT_EQ(std::filesystem::status(folder_ / "x").permissions(), std::filesystem::perms(0600));
}

/// A limit on the size of files stands in for a full disk: the write is refused part way.
TEST_F(FileTest, ReportsAFullDiskAndLeavesNothing) {
    ASSERT_TRUE(write_file_atomically(folder_ / "x", "before"));
    rlimit before{};
    ::getrlimit(RLIMIT_FSIZE, &before);
    const auto old_handler = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit small{1000, before.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &small);
    const auto result = write_file_atomically(folder_ / "x", std::string(2000, 'a'));
    ::setrlimit(RLIMIT_FSIZE, &before);
    std::signal(SIGXFSZ, old_handler);
    ASSERT_FALSE(result);
    EXPECT_NE(result.error().sentence().find("cannot be written"), std::string::npos);
    EXPECT_EQ(read_file(folder_ / "x").value(), "before");
    EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder_), {}), 1);
}

}  // namespace anfract
