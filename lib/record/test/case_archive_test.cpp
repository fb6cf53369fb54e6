#include "anfract/record/case_archive.h"

#include <gmock/gmock.h>
#include <sys/stat.h>
#include <zip.h>

#include <fstream>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/record/archive.h"
#include "anfract/record/hash.h"
#include "anfract/record/zip_file.h"
#include "case_rows.h"
#include "forged_log.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

using Files = std::map<std::string, std::string>;

/// Read and written by libzip alone, without this program's help.
Files unzip(const fs::path& place) {
    Files files;
    zip_t* const zip = zip_open(place.c_str(), ZIP_RDONLY, nullptr);
    for (zip_int64_t i = 0; i < zip_get_num_entries(zip, 0); ++i) {
        zip_stat_t about;
        zip_stat_index(zip, zip_uint64_t(i), 0, &about);
        std::string bytes(about.size, '\0');
        zip_file_t* const file = zip_fopen_index(zip, zip_uint64_t(i), 0);
        zip_fread(file, bytes.data(), bytes.size());
        zip_fclose(file);
        files[about.name] = bytes;
    }
    zip_discard(zip);
    return files;
}

fs::path write_zip(const fs::path& place, const Files& files) {
    fs::remove(place);
    zip_t* const zip = zip_open(place.c_str(), ZIP_CREATE, nullptr);
    for (const auto& [name, bytes] : files)
        zip_file_add(zip, name.c_str(), zip_source_buffer(zip, bytes.data(), bytes.size(), 0), 0);
    EXPECT_EQ(zip_close(zip), 0);
    return place;
}

/// Makes the manifest fit the files again, as someone who tampers would.
void seal(Files& files) {
    json manifest = json::parse(files["manifest.json"]);
    manifest["entries"] = json::array();
    for (const auto& [name, bytes] : files) {
        if (name == "manifest.json") continue;
        manifest["entries"].push_back(
            {{"name", name}, {"sha256", sha256_hex(bytes)}, {"bytes", bytes.size()}});
    }
    files["manifest.json"] = manifest.dump();
}

json use_of(const char* id, const char* device) {
    return {{"entries",
             {{{"entry_id", std::string("00000000-0000-4000-8000-00000000000") + id},
               {"at", "2026-01-31T12:00:00Z"},
               {"kind", "step-done"},
               {"canal", "MB"},
               {"device", device}}}}};
}

class CaseArchiveTest : public RecordTest {
  protected:
    void SetUp() override {
        RecordTest::SetUp();
        for (const char* item : {"file-a", "file-b"}) {
            ASSERT_TRUE(record_->stock().put_item({item,
                                                   {{"id", item},
                                                    {"kind", "hand-file"},
                                                    {"material", "stainless-steel"},
                                                    {"length_mm", 25},
                                                    {"tip_mm", 0.1},
                                                    {"taper", 0.02},
                                                    {"working_part_mm", 16}},
                                                   2}));
            StockMovement in{.item = item,
                             .kind = "received",
                             .lot = "L1",
                             .expires = "2030-01-31",
                             .count = 6,
                             .note = "",
                             .made = "",
                             .author = ""};
            ASSERT_TRUE(record_->stock().move({in}, ""));
        }
        new_case("another", "{\"tooth\": 9}");
        id_ = new_case("Größe", "{\"tooth\": 1}");
        ASSERT_TRUE(record_->log().append(id_, use_of("1", "file-a"), "someone"));
        ASSERT_TRUE(record_->log().append(id_, use_of("2", "file-a"), ""));
        ASSERT_TRUE(record_->notes().save(id_, 0, {{"prognosis", "good"}}, ""));
        ASSERT_TRUE(record_->notes().save(id_, 1, {{"prognosis", "better"}}, ""));
        ASSERT_TRUE(record_->cases().add_file(
            id_, {"picture", std::string("\x00\xff\x01", 3), "a.png", "image/png"}, ""));
        ASSERT_TRUE(record_->cases().add_file(
            id_, {"paper", "%PDF-", "../../odd: name.pdf", "application/pdf"}, ""));
        std::ofstream(root_ / "slice.dcm") << "voxels";
        beside_ = {{"scan/voxels/slice.dcm", root_ / "slice.dcm"}};
        fs::create_directories(root_ / "other");
    }

    Result<CaseArchiveReport> send() { return export_case(*record_, id_, beside_, zip_, {}); }
    std::unique_ptr<Record> elsewhere() {
        return std::move(*Record::open(RecordPlace::below(root_ / "other")));
    }
    Result<CaseArchiveReport> take(const fs::path& zip) {
        const auto archive = CaseArchive::open(zip, root_ / "other", {});
        if (!archive) return tl::unexpected(archive.error());
        return (*archive)->put_into(*elsewhere());
    }
    /// What is said of an archive that was changed, after which nothing may be there.
    std::string refusal(const std::function<void(Files&)>& change) {
        Files files = unzip(zip_);
        change(files);
        const auto taken = take(write_zip(root_ / "changed.zip", files));
        EXPECT_THAT(elsewhere()->cases().list().value(), IsEmpty());
        EXPECT_FALSE(holds_leftovers());
        return taken ? "taken over" : taken.error().sentence();
    }
    bool holds_leftovers() {
        for (const auto& entry : fs::directory_iterator(root_ / "other")) {
            if (entry.path().filename().string().starts_with(".")) return true;
        }
        return false;
    }
    static std::string own_rows(const Record& record, const std::string& id) {
        return record.store()
            .read([&](soci::session& sql) {
                return case_rows(record.store(), sql, Store::newest_step(), id, true);
            })
            .value();
    }

    fs::path zip_ = root_ / "case.zip";
    std::vector<BesideFile> beside_;
    std::string id_;
};

TEST_F(CaseArchiveTest, GivesAnEqualCaseElsewhere) {
    const auto sent = send();
    ASSERT_TRUE(sent) << sent.error().sentence();
    const auto archive = CaseArchive::open(zip_, root_ / "other", {});
    ASSERT_TRUE(archive) << archive.error().sentence();
    ASSERT_EQ((*archive)->beside().size(), 1u);
    EXPECT_EQ(read_file((*archive)->beside()[0].path).value(), "voxels");
    const auto there = elsewhere();
    const auto taken = (*archive)->put_into(*there);
    ASSERT_TRUE(taken) << taken.error().sentence();
    EXPECT_EQ(taken->rows, sent->rows);
    EXPECT_FALSE(taken->was_there);

    EXPECT_EQ(there->log().entries(id_).value(), record_->log().entries(id_).value());
    EXPECT_EQ(first_broken_link(id_, there->log().entries(id_).value()), -1);
    const auto files = record_->cases().files(id_).value();
    ASSERT_EQ(files.size(), 3u);
    for (const CaseFile& file : files) {
        const CaseFile back = there->cases().file(id_, file.kind, file.version).value();
        EXPECT_EQ(back.made, file.made);
        EXPECT_EQ(back.name, file.name);
        EXPECT_EQ(there->vault().get(back.sha256).value(),
                  record_->vault().get(file.sha256).value());
    }
    EXPECT_EQ(there->notes().find(id_, 1)->notes, record_->notes().find(id_, 1)->notes);
    EXPECT_EQ(there->notes().find(id_)->notes, record_->notes().find(id_)->notes);
    EXPECT_EQ(there->cases().list().value().size(), 1u);
    EXPECT_THAT(check(*there)->problems, IsEmpty());
    // The stock of the device that was used came along, the other did not.
    const auto levels = there->stock().levels("2026-02-01").value();
    ASSERT_EQ(levels.size(), 1u);
    EXPECT_EQ(levels[0].item.id, "file-a");
    EXPECT_EQ(levels[0].pieces, record_->stock().levels("2026-02-01").value()[0].pieces);
}

TEST_F(CaseArchiveTest, OfTheCopyHoldsTheSameBytes) {
    ASSERT_TRUE(send());
    ASSERT_TRUE(take(zip_));
    const auto there = elsewhere();
    ASSERT_TRUE(export_case(*there, id_, beside_, root_ / "again.zip", {}));
    Files first = unzip(zip_), again = unzip(root_ / "again.zip");
    // The moment of archiving, and the number of a movement of the stock, are the record's own.
    first.erase("manifest.json");
    again.erase("manifest.json");
    EXPECT_EQ(first.size(), 5u);
    EXPECT_EQ(first, again);
    EXPECT_EQ(own_rows(*record_, id_), own_rows(*there, id_));
}

TEST_F(CaseArchiveTest, IsTakenOverOnceAndNeverOverAnother) {
    ASSERT_TRUE(send());
    ASSERT_TRUE(take(zip_));
    const auto twice = take(zip_);
    ASSERT_TRUE(twice) << twice.error().sentence();
    EXPECT_TRUE(twice->was_there);
    ASSERT_TRUE(elsewhere()->log().append(id_, use_of("3", "file-a"), ""));
    const auto changed = take(zip_);
    ASSERT_FALSE(changed);
    EXPECT_THAT(changed.error().sentence(), HasSubstr("with other content"));
    EXPECT_EQ(elsewhere()->log().entries(id_)->size(), 3u);
}

TEST_F(CaseArchiveTest, LeavesTheStockOfAnotherPracticeAsItIs) {
    ASSERT_TRUE(send());
    const auto there = elsewhere();
    ASSERT_TRUE(there->stock().put_item({"file-a", {{"id", "file-a"}, {"length_mm", 31}}, 0}));
    ASSERT_TRUE(take(zip_));
    EXPECT_EQ(there->stock().levels("2026-02-01").value()[0].item.device["length_mm"], 31);
    EXPECT_THAT(there->stock().movements("file-a").value(), IsEmpty());
}

TEST_F(CaseArchiveTest, RefusesWhatWasChanged) {
    ASSERT_TRUE(send());
    EXPECT_THAT(refusal([](Files& f) { f["files/picture-1/a.png"][0] = 'x'; }),
                HasSubstr("has changed since"));
    EXPECT_THAT(refusal([](Files& f) { f["files/picture-1/a.png"] += 'x'; }),
                HasSubstr("not the size"));
    EXPECT_THAT(refusal([](Files& f) { f.erase("files/picture-1/a.png"); }), HasSubstr("lacks"));
    EXPECT_THAT(refusal([](Files& f) { f["extra"] = "x"; }), HasSubstr("does not name"));
    EXPECT_THAT(refusal([](Files& f) { f.erase("manifest.json"); }),
                HasSubstr("not the archive of a case"));
    EXPECT_THAT(refusal([](Files& f) { f["manifest.json"] = "{\"format\": 1}"; }),
                HasSubstr("manifest.json"));
    EXPECT_THAT(refusal([](Files& f) {
                    json manifest = json::parse(f["manifest.json"]);
                    manifest["schema_step"] = 1000;
                    f["manifest.json"] = manifest.dump();
                }),
                HasSubstr("newer program"));
}

TEST_F(CaseArchiveTest, RefusesWhatWasChangedAndSealedAgain) {
    ASSERT_TRUE(send());
    const auto rewritten = [&](const std::string& from, const std::string& to) {
        return refusal([&](Files& f) {
            std::string& rows = f["rows.jsonl"];
            const std::size_t at = rows.find(from);
            ASSERT_NE(at, std::string::npos) << from;
            rows.replace(at, from.size(), to);
            seal(f);
        });
    };
    EXPECT_THAT(rewritten("step-done", "step-gone"), HasSubstr("does not fit together"));
    EXPECT_THAT(rewritten("[\"cases\",\"" + id_, "[\"cases\",\"0123456789abcdef"),
                HasSubstr("contradict each other"));
    EXPECT_THAT(rewritten("[\"cases\"", "[\"sqlite_master\""), HasSubstr("fits no table"));
    EXPECT_THAT(rewritten("prognosis\\\":\\\"good", "prognosis\\\":[\\\"good"), HasSubstr("notes"));
    EXPECT_THAT(rewritten(R"(\"canal\":\"MB\")",
                          R"(\"canal\":)" + std::string(200'000, '[') + std::string(200'000, ']')),
                HasSubstr("nested deeper"));
    EXPECT_THAT(rewritten(R"({\"at\")", "{at"), HasSubstr("not valid JSON"));
    EXPECT_THAT(rewritten("image/png", "image/png\\r\\nX: y"), HasSubstr("kind of file"));
    // What would break the pages of the stock for every item.
    EXPECT_THAT(rewritten(R"(\"taper\":0.02)", R"(\"max_uses\":\"x\")"), HasSubstr("device"));
    EXPECT_THAT(rewritten(R"({\"id\":\"file-a\")", R"({\"id\":\"file-c\")"),
                HasSubstr("item of the stock"));
    EXPECT_THAT(rewritten(R"("received","L1","2030-01-31",6)",
                          R"("received","L1","2030-01-31",9223372036854775807)"),
                HasSubstr("movement of the stock"));
    EXPECT_THAT(rewritten(R"("received","L1")", R"("stolen","L1")"),
                HasSubstr("movement of the stock"));
    EXPECT_THAT(rewritten(R"("2026-01-31",1,0)", R"("2026-01-31",9223372036854775807,0)"),
                HasSubstr("more than once"));
    EXPECT_THAT(refusal([](Files& f) {
                    f.erase("files/picture-1/a.png");
                    seal(f);
                }),
                HasSubstr("lacks a file that its rows name"));
    EXPECT_THAT(refusal([](Files& f) {
                    f["rows.jsonl"] = "";
                    seal(f);
                }),
                HasSubstr("holds no case"));
}

TEST_F(CaseArchiveTest, RefusesALogThatWasMadeUpAndCannotBeRead) {
    ASSERT_TRUE(send());
    const auto forged = [&](const std::string& from, const std::string& to) {
        return refusal([&](Files& f) {
            std::string& rows = f["rows.jsonl"];
            const std::size_t at = rows.find(from);
            ASSERT_NE(at, std::string::npos) << from;
            rows.replace(at, from.size(), to);
            rows = test::with_forged_chain(rows, id_);
            seal(f);
        });
    };
    EXPECT_THAT(forged("step-done", "step-gone"), HasSubstr("kind"));
    EXPECT_THAT(forged(R"(\"kind\":\"step-done\")", R"(\"kind\":\"correction\")"),
                HasSubstr("corrects"));
    EXPECT_THAT(forged(R"(\"2026-01-31T12:00:00Z\")", R"(7)"), HasSubstr("at"));
    EXPECT_THAT(forged(R"(\"device\":\"file-a\")", R"(\"device\":{})"), HasSubstr("device"));
}

TEST_F(CaseArchiveTest, RefusesNamesThatLeadElsewhere) {
    ASSERT_TRUE(send());
    for (const char* name : {"beside/../../x", "/etc/x", "beside/.hidden", "beside//x", "C:/x",
                             "beside/a\\b", "beside/a\nb", ".."}) {
        EXPECT_FALSE(is_plain_path(name)) << name;
        EXPECT_THAT(refusal([&](Files& f) {
                        f[name] = "x";
                        seal(f);
                    }),
                    HasSubstr("leads elsewhere"))
            << name;
    }
    EXPECT_FALSE(fs::exists(root_ / "x"));
}

TEST_F(CaseArchiveTest, RefusesWhatUnpacksToFarMore) {
    ASSERT_TRUE(send());
    EXPECT_THAT(refusal([](Files& f) {
                    f["beside/zeros"] = std::string(std::size_t{20} << 20, '\0');
                    seal(f);
                }),
                HasSubstr("far more than a case"));
}

TEST_F(CaseArchiveTest, RefusesAFileCutShortAtAnyPlace) {
    ASSERT_TRUE(send());
    const std::string whole = read_file(zip_).value();
    for (std::size_t parts = 0; parts < 24; ++parts) {
        std::ofstream(root_ / "cut.zip", std::ios::binary | std::ios::trunc)
            << whole.substr(0, whole.size() * parts / 24);
        const auto taken = take(root_ / "cut.zip");
        ASSERT_FALSE(taken);
        EXPECT_THAT(taken.error().sentence(), HasSubstr("cut short"));
    }
    // One bit over anywhere is noticed, or was in a place that says nothing.
    for (std::size_t i = 0; i < whole.size(); i += 97) {
        std::string bytes = whole;
        bytes[i] = char(bytes[i] ^ 0x10);
        std::ofstream(root_ / "cut.zip", std::ios::binary | std::ios::trunc) << bytes;
        if (const auto archive = CaseArchive::open(root_ / "cut.zip", root_ / "other", {})) {
            EXPECT_EQ((*archive)->case_id(), id_) << i;
        }
    }
    EXPECT_FALSE(holds_leftovers());
}

TEST_F(CaseArchiveTest, IsWrittenForItsUserAloneAndWholeOrNotAtAll) {
    ASSERT_TRUE(send());
    struct stat about{};
    ASSERT_EQ(::stat(zip_.c_str(), &about), 0);
    EXPECT_EQ(about.st_mode & 0777u, 0600u);
    const std::string before = read_file(zip_).value();
    beside_[0].path = root_ / "not there";
    EXPECT_FALSE(send());
    Progress stopped;
    stopped.cancel();
    beside_.clear();
    EXPECT_EQ(export_case(*record_, id_, {}, zip_, stopped).error().code, ErrorCode::Cancelled);
    EXPECT_EQ(read_file(zip_).value(), before);
    EXPECT_EQ(export_case(*record_, "0123456789abcdef", {}, zip_, {}).error().code,
              ErrorCode::NotFound);
    EXPECT_EQ(export_case(*record_, "' OR '1'='1", {}, zip_, {}).error().code, ErrorCode::NotFound);
    for (const auto& entry : fs::directory_iterator(root_))
        EXPECT_THAT(entry.path().string(), Not(HasSubstr(".part-")));
}

// A table that is added must be given a place in archives, or be left out on purpose here.
TEST(CaseRows, KnowEveryTableOfTheSchema) {
    const std::set<std::string> of_the_practice{"accounts", "access_lines", "trays"};
    for (const Table& table : tables_after(Store::newest_step())) {
        EXPECT_NE(case_share_of(table.name) == CaseShare::None,
                  !of_the_practice.contains(table.name))
            << table.name;
    }
}

}  // namespace
}  // namespace anfract::record
