// The record from the command line: looked into, checked, kept, restored, moved.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>

#include "anfract/record/record.h"
#include "command_line.h"

namespace anfract::cli {
namespace {

using testing::HasSubstr;

class StoreCommand : public testing::Test {
  protected:
    void SetUp() override {
        std::filesystem::create_directories(scratch_.path() / "data");
        const auto record =
            record::Record::open(record::RecordPlace::below(scratch_.path() / "data"));
        ASSERT_TRUE(record);
        const auto made = (*record)->cases().add({"", "", "", "36", "practice molar", true},
                                                 {"tooth", "{}", "tooth.json"}, "");
        id_ = made->id;
        ASSERT_TRUE((*record)->notes().save(id_, 0, {{"completed", "2025-01-31"}}, ""));
    }
    Outcome run(const std::string& arguments) const {
        return shell(scratch_, "$ANFRACT " + arguments);
    }
    /// Exit code 1 and one sentence.
    void refuses(const std::string& arguments, const std::string& why) const {
        const Outcome outcome = run(arguments);
        EXPECT_EQ(outcome.code, 1) << arguments;
        EXPECT_THAT(outcome.err, HasSubstr(why)) << arguments;
        EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1) << outcome.err;
    }
    Scratch scratch_;
    std::string id_;
};

TEST_F(StoreCommand, KeepsRestoresAndMovesARecord) {
    EXPECT_THAT(run("store check --data $D/data").out,
                HasSubstr("1 cases, 0 log entries, 1 files"));
    EXPECT_EQ(run("store backup --data $D/data $D/kept").code, 0);
    EXPECT_EQ(run("store restore --data $D/back $D/kept").code, 0);
    EXPECT_EQ(run("store move --data $D/back --to-data $D/moved").code, 0);
    EXPECT_THAT(run("case list --data $D/moved").out, HasSubstr("practice molar"));
    EXPECT_THAT(run("case show --data $D/moved " + id_).out, HasSubstr("2025-01-31"));
    EXPECT_EQ(run("store check --data $D/moved").code, 0);
    EXPECT_FALSE(std::filesystem::exists(scratch_.path() / "moved" / "files" / "kept"));
}

TEST_F(StoreCommand, SealsABackupAndOpensItAgain) {
    ASSERT_EQ(run("store backup --data $D/data $D/kept").code, 0);
    const auto with = [&](const std::string& passphrase, const std::string& arguments) {
        return shell(scratch_, "echo '" + passphrase + "' | $ANFRACT store " + arguments).code;
    };
    EXPECT_EQ(with("an invented passphrase", "seal $D/kept $D/kept.sealed"), 0);
    EXPECT_EQ(with("another passphrase", "unseal $D/kept.sealed $D/wrong"), 1);
    EXPECT_EQ(with("an invented passphrase", "unseal $D/kept.sealed $D/open"), 0);
    EXPECT_EQ(shell(scratch_, "diff -r -x .arriving $D/kept $D/open").code, 0);
    EXPECT_EQ(run("store restore --data $D/back2 $D/open").code, 0);
}

TEST_F(StoreCommand, LooksIntoTheRecord) {
    EXPECT_THAT(run("case list --data $D/data --find MOLAR").out, HasSubstr(id_));
    EXPECT_EQ(run("case list --data $D/data --find nothing").out, "");
    EXPECT_THAT(run("case log --data $D/data " + id_).out, HasSubstr("anfract.log"));
    EXPECT_THAT(run("case recalls --data $D/data --until 2026-02-01").out, HasSubstr(id_));
    EXPECT_EQ(run("case recalls --data $D/data --until 2026-01-30").out, "");
}

TEST_F(StoreCommand, SavesNothingOverWhatSomebodyElseSavedFirst) {
    std::ofstream(scratch_.path() / "notes.json")
        << R"({"format": "anfract.case", "version": 1, "prognosis": "fair"})";
    const std::string save = "case save --data $D/data " + id_ + " $D/notes.json";
    refuses(save + " --based-on 0", "another version has been saved");
    EXPECT_EQ(run(save + " --based-on 1").out, "version 2\n");
    EXPECT_THAT(run("case show --data $D/data --version 1 " + id_).out, HasSubstr("2025-01-31"));
}

TEST_F(StoreCommand, WarnsWhenTheNotesNameAnotherPatientThanTheScanAndSavesThem) {
    std::string id;
    {
        const auto record =
            record::Record::open(record::RecordPlace::below(scratch_.path() / "data")).value();
        ASSERT_TRUE(record->scans().add({"00112233445566ee", "2026-01-31T12:00:00Z",
                                         R"({"study": {"patient_name": "Musterfrau^Inventa"}})",
                                         "scan.zip", ""}));
        id = record->cases()
                 .add({"", "", "00112233445566ee", "36", "", true}, {"tooth", "{}", "t.json"}, "")
                 ->id;
    }
    const auto save = [&](const std::string& name) {
        std::ofstream(scratch_.path() / "notes.json")
            << R"({"format": "anfract.case", "version": 1, "patient": {"name": ")" << name
            << R"("}})";
        return run("case save --data $D/data " + id + " $D/notes.json");
    };
    const Outcome another = save("Inventa Mustermann");
    EXPECT_EQ(another.code, 0);
    EXPECT_EQ(another.out, "version 1\n");
    EXPECT_THAT(another.err, HasSubstr("another patient than the notes: Inventa Musterfrau"));
    EXPECT_EQ(save("Inventa Musterfrau").err, "");
}

TEST_F(StoreCommand, RefusesWhatCannotBeInOneSentence) {
    refuses("store check --data $D/none", "there is no record");
    refuses("store restore --data $D/back $D/none", "manifest.json");
    refuses("store backup --data $D/data $D/data", "something already");
    refuses("store backup --data $D/data $D/no/such/place", "cannot be made");
    refuses("case show --data $D/data 0123456789abcdef", "no such case");
    refuses("case bring-back --data $D/data " + id_, "set aside");
    refuses("case recalls --data $D/data --until soon", "no date");
    refuses("case list --data $D/data --database mysql:x", "not the address");
    EXPECT_EQ(run("store").code, 2);
}

}  // namespace
}  // namespace anfract::cli
