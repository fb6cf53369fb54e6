#include <gmock/gmock.h>
#include <pwd.h>
#include <sys/wait.h>

#include <cstdlib>
#include <fstream>
#include <thread>

#include "anfract/base/file.h"
#include "anfract/record/archive.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

/// A real PostgreSQL server of Debian's package, alone on a socket in a folder of its own. It does
/// not run as root, so root starts it as the user that the package made.
class Cluster {
  public:
    explicit Cluster(const fs::path& root) : root_(root) {
        fs::create_directories(root);
        std::error_code error;
        fs::permissions(root, fs::perms::all, error);
        if (::geteuid() == 0) {
            const passwd* user = ::getpwnam("postgres");
            if (user == nullptr || ::chown(root.c_str(), user->pw_uid, user->pw_gid) != 0) return;
        }
        const std::string data = (root / "data").string();
        runs_ = run("initdb -D " + data + " -A trust -U record -E UTF8 --no-sync") &&
                run("pg_ctl -D " + data + " -w -t 60 -l " + (root / "log").string() +
                    " -o \"-c listen_addresses= -c fsync=off -k " + root.string() + "\" start");
    }
    ~Cluster() {
        if (runs_) run("pg_ctl -D " + (root_ / "data").string() + " -m immediate stop");
        std::error_code error;
        fs::remove_all(root_, error);
    }
    bool runs() const { return runs_; }
    bool execute(const std::string& statement) const {
        return run("psql -q -h " + root_.string() + " -U record -d postgres -c '" + statement +
                   "'");
    }
    std::string address() const {
        return "postgresql:///postgres?user=record&host=" + root_.string();
    }

  private:
    static bool run(const std::string& command) {
        const std::string who =
            ::geteuid() == 0 ? "setpriv --reuid=postgres --regid=postgres --clear-groups " : "";
        return std::system(
                   ("cd / && " + who + "/usr/lib/postgresql/15/bin/" + command + " >/dev/null 2>&1")
                       .c_str()) == 0;
    }
    fs::path root_;
    bool runs_ = false;
};

class TwoSeatsTest : public ::testing::Test {
  protected:
    static void SetUpTestSuite() {
        cluster_ = std::make_unique<Cluster>(fs::temp_directory_path() /
                                             ("anfract-seats-" + std::to_string(::getpid())));
    }
    static void TearDownTestSuite() { cluster_.reset(); }

    void SetUp() override {
        ASSERT_TRUE(cluster_->runs()) << "PostgreSQL 15 of Debian does not start";
        fs::remove_all(root_);
        fs::create_directories(root_);
        for (auto& seat : seats_) {
            auto opened =
                Record::open(RecordPlace::below(root_, cluster_->address(), root_ / "files"));
            ASSERT_TRUE(opened) << opened.error().sentence();
            seat = std::move(*opened);
        }
    }
    void TearDown() override {
        for (auto& seat : seats_) seat.reset();
        fs::remove_all(root_);
    }
    std::string new_case() {
        return seats_[0]->cases().add({"", "", "", "36", "seats", true}, {"tooth", "{}"}, "")->id;
    }

    static std::unique_ptr<Cluster> cluster_;
    std::unique_ptr<Record> seats_[2];
    fs::path root_ =
        fs::temp_directory_path() / ("anfract-seats-files-" + std::to_string(::getpid()));
};
std::unique_ptr<Cluster> TwoSeatsTest::cluster_;

TEST_F(TwoSeatsTest, LoseNoUpdateOfOneCase) {
    const std::string id = new_case();
    const auto work = [&](int seat) {
        const Record& record = *seats_[seat];
        for (int done = 0; done < 10;) {
            NotesVersion now = record.notes().find(id).value();
            now.notes["instructions"].push_back("seat " + std::to_string(seat));
            const auto saved = record.notes().save(id, now.version, now.notes, "");
            ASSERT_TRUE(saved) << saved.error().sentence();
            if (std::holds_alternative<NotesConflict>(*saved)) continue;
            char entry[40];
            std::snprintf(entry, sizeof entry, "00000000-0000-4000-8000-%012d", 100 * seat + done);
            const auto logged = record.log().append(
                id,
                {{"entries",
                  {{{"entry_id", entry}, {"at", "2026-01-31T12:00:00Z"}, {"kind", "note"}}}}},
                "");
            ASSERT_TRUE(logged) << logged.error().sentence();
            ++done;
        }
    };
    std::thread first(work, 0), second(work, 1);
    first.join();
    second.join();
    EXPECT_EQ(seats_[0]->notes().find(id)->notes["instructions"].size(), 20u);
    EXPECT_EQ(seats_[1]->notes().find(id)->version, 20);
    EXPECT_EQ(seats_[1]->log().entries(id)->size(), 20u);
    EXPECT_THAT(check(*seats_[0])->problems, IsEmpty());
}

TEST_F(TwoSeatsTest, ShareAccountsScansAndOneTrail) {
    ASSERT_TRUE(seats_[0]->accounts().add("ben", Role::Clinician, "an invented passphrase"));
    EXPECT_TRUE(seats_[1]->accounts().verify("ben", "an invented passphrase").value());
    ASSERT_TRUE(seats_[1]->accounts().set_disabled("ben", true));
    EXPECT_FALSE(seats_[0]->accounts().find("ben").value().account->disabled.empty());
    ASSERT_TRUE(seats_[0]->scans().add({"seat", "2026-01-31T12:00:00Z", "{}", "s.nii", ""}));
    EXPECT_EQ(seats_[1]->scans().find("seat").value().name, "s.nii");
    EXPECT_FALSE(seats_[1]->scans().remove("seat").value());
    ASSERT_TRUE(seats_[0]->trays().add("{}", ""));
    EXPECT_EQ(seats_[1]->trays().newest().value(), "{}");
    const auto look = [&](int seat) {
        for (int i = 0; i < 10; ++i)
            ASSERT_TRUE(seats_[seat]->access().add({{0, "", "ben", "look", "bb", "", ""}}));
    };
    std::thread first(look, 0), second(look, 1);
    first.join();
    second.join();
    EXPECT_EQ(seats_[0]->access().lines("ben", "bb").value().size(), 20u);
    EXPECT_EQ(seats_[0]->access().first_broken().value(), 0);
}

TEST_F(TwoSeatsTest, MoveBetweenDatabasesWithoutLoss) {
    // From SQLite to PostgreSQL and back: the rows are the same, byte for byte.
    const RecordPlace small = RecordPlace::below(root_);
    {
        const auto record = Record::open(small);
        const auto made = (*record)->cases().add({"", "", "", "36", "Zahn Größe, 2", true},
                                                 {"tooth", "{\"a\": 1}"}, "");
        ASSERT_TRUE((*record)->notes().save(made->id, 0, {{"prognosis", "it's 100 % :fine"}}, ""));
        ASSERT_TRUE((*record)->cases().add({"", "", "", "36", "_zahn", true}, {"tooth", "b"}, ""));
        ASSERT_TRUE((*record)->scans().add({"aa", "2026-01-31T12:00:00Z", "{}", "s.nii", ""}));
        ASSERT_TRUE((*record)->trays().add("{\"devices\": []}", "ada"));
        ASSERT_TRUE((*record)->accounts().add("ada", Role::Reader, "an invented passphrase"));
        ASSERT_TRUE((*record)->access().add({{0, "", "ada", "look", "aa", "", ""}}));
        ASSERT_TRUE(backup(**record, root_ / "small"));
    }
    const auto here = [&](const char* name) { return root_ / name; };
    // The other test's rows are in the first database; this one takes a database of its own.
    ASSERT_TRUE(seats_[0]->store().is_postgresql());
    const RecordPlace large{cluster_->address() + "&options=-csearch_path%3Dmoved", here("large")};
    ASSERT_TRUE(cluster_->execute("CREATE SCHEMA moved"));
    const auto moved = restore(here("small"), large);
    ASSERT_TRUE(moved) << moved.error().sentence();
    {
        const auto record = Record::open(large);
        ASSERT_TRUE(backup(**record, here("from large")));
        EXPECT_EQ((*record)->cases().list("größe")->size(), 1u);
        EXPECT_TRUE((*record)->accounts().verify("ada", "an invented passphrase").value());
    }
    EXPECT_EQ(read_file(here("small") / "rows.jsonl").value(),
              read_file(here("from large") / "rows.jsonl").value());
    fs::create_directories(here("back"));
    EXPECT_TRUE(restore(here("from large"), RecordPlace::below(here("back"))));
}

}  // namespace
}  // namespace anfract::record
