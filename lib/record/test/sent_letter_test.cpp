#include "anfract/record/sent_letter.h"

#include <gmock/gmock.h>

#include <chrono>
#include <thread>

#include "temporary_record.h"

namespace anfract::record {
namespace {

class SentLetterTest : public RecordTest {
  protected:
    void send(const std::string& kind, const std::string& to, const std::string& bytes) {
        const auto file = sent_letter(kind, to, bytes);
        ASSERT_TRUE(file) << file.error().sentence();
        ASSERT_TRUE(record_->cases().add_file(id_, *file, "ada"));
        std::this_thread::sleep_for(std::chrono::milliseconds(2));  // each has a time of its own
    }
    std::string id_;
};

TEST_F(SentLetterTest, StaysWithItsCaseAsItWasGivenOut) {
    id_ = new_case();
    send("letter", "Dr. Invented", "%PDF-1.7 first");
    send("discharge", "Dr. Größe/Other\n", "<!DOCTYPE html><p>second");
    send("letter", "", "%PDF-1.7 third");
    const auto letters = sent_letters(record_->cases().files(id_).value());
    ASSERT_EQ(letters.size(), 3u);
    EXPECT_EQ(letters[0].to, "Dr. Invented");
    EXPECT_EQ(letters[0].author, "ada");
    EXPECT_EQ(letters[1].kind, "discharge");
    EXPECT_EQ(letters[1].to, "Dr. Größe Other ");
    EXPECT_EQ(letters[2].version, 2);
    EXPECT_EQ(letters[2].to, "");
    const auto first = record_->cases().file(id_, "letter", 1);
    ASSERT_TRUE(first);
    EXPECT_EQ(record_->vault().get(first->sha256).value(), "%PDF-1.7 first");
    EXPECT_EQ(record_->cases().file(id_, "discharge")->media_type, "text/html");
}

TEST(SentLetter, IsOneOfThreeKindsAndNamedInOneLine) {
    EXPECT_FALSE(sent_letter("tooth", "x", "%PDF-1.7"));
    EXPECT_FALSE(sent_letter("letter", "x", "hello"));
    std::string umlauts;
    for (int i = 0; i < 100; ++i) umlauts += "ü";
    const std::string name = sent_letter("letter", "x" + umlauts, "%PDF-1.7")->name;
    EXPECT_EQ(name, "x" + umlauts.substr(0, 118) + ".pdf");
}

}  // namespace
}  // namespace anfract::record
