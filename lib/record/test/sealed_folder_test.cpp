#include "anfract/record/sealed_folder.h"

#include <gmock/gmock.h>

#include "anfract/base/file.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

class SealedFolder : public ::testing::Test {
  protected:
    void SetUp() override {
        fs::create_directories(root_ / "in" / "files" / "ab");
        put("in/rows.jsonl", "[\"cases\",\"Petra Mustermann\"]\n");
        put("in/files/ab/empty", "");
        put("in/files/ab/large", std::string(200'000, 'x') + "end");
        put("in/files/ab/even", std::string(std::size_t{2} * 64 * 1024, 'y'));
        ASSERT_TRUE(seal_folder(root_ / "in", root_ / "sealed", secret_));
    }
    void TearDown() override { fs::remove_all(root_); }
    void put(const std::string& name, const std::string& bytes) {
        ASSERT_TRUE(write_file_atomically(root_ / name, bytes));
    }
    bool opens(const std::string& bytes, const std::string& passphrase) {
        put("tried", bytes);
        const bool opened =
            open_sealed_folder(root_ / "tried", root_ / "out", passphrase).has_value();
        EXPECT_EQ(fs::exists(root_ / "out"), opened);
        fs::remove_all(root_ / "out");
        return opened;
    }
    const std::string secret_ = "an invented passphrase";
    fs::path root_ = fs::temp_directory_path() / ("anfract-sealed-" + std::to_string(::getpid()));
};

TEST_F(SealedFolder, ComesBackByteForByteAndHidesNamesAndContents) {
    const auto opened = open_sealed_folder(root_ / "sealed", root_ / "out", secret_);
    ASSERT_TRUE(opened) << opened.error().sentence();
    EXPECT_EQ(opened->files, 4);
    for (const char* name : {"rows.jsonl", "files/ab/empty", "files/ab/large", "files/ab/even"}) {
        EXPECT_EQ(read_file(root_ / "out" / name).value(), read_file(root_ / "in" / name).value());
        EXPECT_EQ(fs::status(root_ / "out" / name).permissions(), fs::perms(0600)) << name;
    }
    const std::string bytes = read_file(root_ / "sealed").value();
    for (const char* part : {"Mustermann", "rows", "large", "xxxxxxxx"})
        EXPECT_THAT(bytes, Not(HasSubstr(part)));
    EXPECT_EQ(fs::status(root_ / "sealed").permissions(), fs::perms(0600));
}

TEST_F(SealedFolder, OpensToNothingWhenChangedCutOrOfAnotherPassphrase) {
    const std::string good = read_file(root_ / "sealed").value();
    EXPECT_TRUE(opens(good, secret_));
    EXPECT_FALSE(opens(good, "an invented passphrasf"));
    for (const std::size_t at : {std::size_t{3}, std::size_t{20}, std::size_t{40},
                                 std::size_t{100'000}, good.size() - 1}) {
        std::string changed = good;
        changed[at] = static_cast<char>(changed[at] ^ 1);
        EXPECT_FALSE(opens(changed, secret_)) << at;
    }
    // Cut between two pieces and anywhere else, with something behind, and with two pieces changed
    // over.
    const std::size_t head = 17 + 16 + 24, piece = 64 * 1024 + 17;
    EXPECT_FALSE(opens(good.substr(0, head + piece), secret_));
    EXPECT_FALSE(opens(good.substr(0, good.size() - 5), secret_));
    EXPECT_FALSE(opens(good + "x", secret_));
    EXPECT_FALSE(opens(good.substr(0, head) + good.substr(head + piece, piece) +
                           good.substr(head, piece) + good.substr(head + 2 * piece),
                       secret_));
    EXPECT_EQ(std::distance(fs::directory_iterator(root_), {}), 3);  // in, sealed, tried
}

TEST_F(SealedFolder, RefusesInOneSentence) {
    EXPECT_FALSE(seal_folder(root_ / "in", root_ / "other", "short"));
    EXPECT_FALSE(seal_folder(root_ / "none", root_ / "other", secret_));
    EXPECT_FALSE(seal_folder(root_ / "in", root_ / "sealed", secret_));
    EXPECT_FALSE(open_sealed_folder(root_ / "sealed", root_ / "in", secret_));
    EXPECT_FALSE(open_sealed_folder(root_ / "none", root_ / "out", secret_));
    EXPECT_FALSE(open_sealed_folder(root_ / "in" / "rows.jsonl", root_ / "out", secret_));
    EXPECT_FALSE(fs::exists(root_ / "other"));
}

}  // namespace
}  // namespace anfract::record
