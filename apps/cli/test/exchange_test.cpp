// What goes to other programs and comes from them, with the program itself: archives of a case, and
// DICOM over the network with dcmtk's storescu, storescp and echoscu on the other side.

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <spawn.h>

#include <chrono>
#include <functional>
#include <memory>
#include <thread>
#include <vector>

#include "anfract/record/record.h"
#include "command_line.h"

extern char** environ;

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

/// A program that runs until it goes out of scope; its output goes to a file.
class Background {
  public:
    Background(std::vector<std::string> words, const fs::path& out) {
        std::vector<char*> arguments;
        for (std::string& word : words) arguments.push_back(word.data());
        arguments.push_back(nullptr);
        posix_spawn_file_actions_t actions;
        posix_spawn_file_actions_init(&actions);
        posix_spawn_file_actions_addopen(&actions, 1, out.c_str(), O_WRONLY | O_CREAT | O_TRUNC,
                                         0600);
        posix_spawn_file_actions_adddup2(&actions, 1, 2);
        if (posix_spawnp(&pid_, arguments[0], &actions, nullptr, arguments.data(), environ) != 0)
            pid_ = -1;
        posix_spawn_file_actions_destroy(&actions);
    }
    Background(const Background&) = delete;
    Background& operator=(const Background&) = delete;
    ~Background() { stop(); }
    /// The exit code after SIGTERM.
    int stop() {
        if (pid_ <= 0) return -1;
        kill(pid_, SIGTERM);
        int status = 0;
        waitpid(pid_, &status, 0);
        pid_ = -1;
        return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    }
    bool runs() const { return pid_ > 0 && waitpid(pid_, nullptr, WNOHANG) == 0; }

  private:
    pid_t pid_ = -1;
};

class Exchange : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        ASSERT_EQ(run("$ANFRACT phantom lower-premolar --out $D/case --seed 3 --voxel 0.3").code,
                  0);
        // One key for both sides, for the test only.
        ASSERT_EQ(run("openssl req -x509 -newkey rsa:2048 -nodes -keyout $D/key.pem -out "
                      "$D/cert.pem -days 2 "
                      "-subj /CN=localhost -addext subjectAltName=IP:127.0.0.1")
                      .code,
                  0);
    }
    static void TearDownTestSuite() { delete scratch_; }
    void SetUp() override {
        fs::remove_all(path("data"));
        setenv("TCP_NODELAY", "1", 1);
    }
    static Outcome run(const std::string& command) { return shell(*scratch_, command); }
    static fs::path path(const std::string& name) { return scratch_->path() / name; }

    static bool wait_for(const std::function<bool()>& true_now, int seconds = 60) {
        for (int i = 0; i < seconds * 20; ++i) {
            if (true_now()) return true;
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
        }
        return false;
    }
    /// A listener on a free port, found by trying.
    std::unique_ptr<Background> listener(std::vector<std::string> more = {}) {
        for (port_ = 30000 + int(getpid() % 10000); port_ < 45000; port_ += 13) {
            std::vector<std::string> words{ANFRACT_PROGRAM, "listen",
                                           "--port",        std::to_string(port_),
                                           "--allow",       "SENDER@127.0.0.1",
                                           "--data",        path("data"),
                                           "--quiet",       "0.3"};
            words.insert(words.end(), more.begin(), more.end());
            auto program = std::make_unique<Background>(words, path("listen.txt"));
            if (wait_for([&] { return heard("listening as") || !program->runs(); }) &&
                heard("listening as"))
                return program;
        }
        return nullptr;
    }
    static bool heard(const std::string& words) {
        return slurp(path("listen.txt")).find(words) != std::string::npos;
    }
    std::string to() const { return " 127.0.0.1 " + std::to_string(port_) + " "; }
    static std::vector<fs::path> scans() {
        std::vector<fs::path> all;
        std::error_code error;
        for (const auto& entry : fs::directory_iterator(path("data/scans"), error))
            all.push_back(entry.path());
        return all;
    }
    /// What survey says of a scan but for where it lies.
    static nlohmann::json survey(const fs::path& scan) {
        const Outcome told = run("$ANFRACT survey " + scan.string());
        EXPECT_EQ(told.code, 0) << told.err;
        auto document = nlohmann::json::parse(told.out, nullptr, false);
        if (document.is_object()) {
            document.erase("scan");
            document.erase("path");
        }
        return document;
    }

    static Scratch* scratch_;
    int port_ = 0;
};
Scratch* Exchange::scratch_ = nullptr;

TEST_F(Exchange, ASeriesSentToItLandsOnTheShelf) {
    const auto program = listener();
    ASSERT_TRUE(program) << slurp(path("listen.txt"));
    EXPECT_EQ(run("echoscu -aet SENDER -aec ANFRACT" + to()).code, 0);
    // In two associations: the series is put together.
    const Outcome sent =
        run("mkdir -p $D/a $D/b && n=0; for f in $D/case/scan/*; do n=$((n+1)); "
            "if [ $((n%2)) = 0 ]; then cp $f $D/a; else cp $f $D/b; fi; done; "
            "storescu -aet SENDER -aec ANFRACT +sd" +
            to() +
            "$D/a && "
            "storescu -aet SENDER -aec ANFRACT +sd" +
            to() + "$D/b");
    ASSERT_EQ(sent.code, 0) << sent.err;
    ASSERT_TRUE(wait_for([] { return heard("scan "); })) << slurp(path("listen.txt"));
    ASSERT_EQ(scans().size(), 1u);
    const auto stored = nlohmann::json::parse(slurp(scans()[0] / "scan.json"));
    EXPECT_EQ(stored["invented"], true);
    EXPECT_EQ(survey(scans()[0] / stored["path"].get<std::string>()), survey(path("case/scan")));
    EXPECT_TRUE(fs::is_empty(path("data/incoming")));
    EXPECT_EQ(fs::status(path("data/incoming")).permissions(), fs::perms::owner_all);
    EXPECT_EQ(program->stop(), 0);
}

TEST_F(Exchange, OnlyThoseWhoAreAllowedMaySend) {
    const auto program = listener();
    ASSERT_TRUE(program);
    EXPECT_NE(run("echoscu -aet OTHER -aec ANFRACT" + to()).code, 0);
    EXPECT_NE(run("echoscu -aet SENDER -aec OTHER" + to()).code, 0);
    EXPECT_NE(run("storescu -aet OTHER -aec ANFRACT +sd" + to() + "$D/case/scan").code, 0);
    EXPECT_TRUE(heard("'OTHER' is not among the callers"));
    EXPECT_TRUE(scans().empty());
    // Another machine under the right title.
    const auto elsewhere = [&] {
        Background other({ANFRACT_PROGRAM, "listen", "--port", std::to_string(port_ + 1), "--allow",
                          "SENDER@192.0.2.1", "--data", path("data2")},
                         path("other.txt"));
        wait_for([] { return slurp(path("other.txt")).find("listening as") != std::string::npos; });
        return run("echoscu -aet SENDER -aec ANFRACT 127.0.0.1 " + std::to_string(port_ + 1)).code;
    };
    EXPECT_NE(elsewhere(), 0);
    EXPECT_THAT(slurp(path("other.txt")), HasSubstr("not the machine of a caller"));
}

TEST_F(Exchange, WhatBreaksOffOrHasGapsDoesNotLand) {
    const auto program = listener();
    ASSERT_TRUE(program);
    // dcmtk's --abort ends the association without a release, after all was sent.
    run("storescu --abort -aet SENDER -aec ANFRACT +sd" + to() + "$D/case/scan");
    EXPECT_TRUE(wait_for([] { return heard("broke off"); })) << slurp(path("listen.txt"));
    // Every fifth slice is missing, until the rest comes.
    ASSERT_EQ(run("mkdir -p $D/gaps $D/rest && n=0; for f in $D/case/scan/*; do n=$((n+1)); "
                  "if [ $((n%5)) = 0 ]; then cp $f $D/rest; else cp $f $D/gaps; fi; done; "
                  "storescu -aet SENDER -aec ANFRACT +sd" +
                  to() + "$D/gaps")
                  .code,
              0);
    EXPECT_TRUE(wait_for([] { return heard("is not taken in"); })) << slurp(path("listen.txt"));
    EXPECT_TRUE(scans().empty());
    ASSERT_EQ(run("storescu -aet SENDER -aec ANFRACT +sd" + to() + "$D/rest").code, 0);
    EXPECT_TRUE(wait_for([] { return heard("\nscan "); })) << slurp(path("listen.txt"));
    EXPECT_EQ(scans().size(), 1u);
}

TEST_F(Exchange, TheNetworkCanBeEncryptedBothWays) {
    const std::vector<std::string> tls{"--key",          path("key.pem"), "--certificate",
                                       path("cert.pem"), "--trusted",     path("cert.pem")};
    const auto program = listener(tls);
    ASSERT_TRUE(program) << slurp(path("listen.txt"));
    EXPECT_NE(run("echoscu -aet SENDER -aec ANFRACT" + to()).code, 0);
    EXPECT_NE(run("echoscu +tla -ic -aet SENDER -aec ANFRACT" + to()).code, 0);
    EXPECT_EQ(
        run("echoscu +tls $D/key.pem $D/cert.pem +cf $D/cert.pem -aet SENDER -aec ANFRACT" + to())
            .code,
        0);
    // Our own sender to our own listener, and refused by one it does not trust.
    const std::string send = "$ANFRACT send $D/case/scan --calling SENDER --to ANFRACT@127.0.0.1:" +
                             std::to_string(port_);
    EXPECT_EQ(run(send + " --key $D/key.pem --certificate $D/cert.pem --trusted $D/cert.pem").code,
              0);
    EXPECT_TRUE(wait_for([] { return heard("\nscan "); })) << slurp(path("listen.txt"));
    run("openssl req -x509 -newkey rsa:2048 -nodes -keyout $D/key2.pem -out $D/cert2.pem -days 2 "
        "-subj /CN=other");
    const Outcome distrusted =
        run(send + " --key $D/key2.pem --certificate $D/cert2.pem --trusted $D/cert2.pem");
    EXPECT_EQ(distrusted.code, 1);
    EXPECT_THAT(distrusted.err, HasSubstr("does not take the connection"));
    const Outcome mixed =
        run(send + " --key $D/key.pem --certificate $D/cert2.pem --trusted $D/cert.pem");
    EXPECT_THAT(mixed.err, HasSubstr("does not belong to the key"));
}

TEST_F(Exchange, ListenRefusesWhatCannotBeInOneSentence) {
    const auto refuses = [&](const std::string& arguments, const std::string& why) {
        const Outcome outcome = run("timeout 20 $ANFRACT listen --data $D/data " + arguments);
        EXPECT_EQ(outcome.code, 1) << arguments;
        EXPECT_THAT(outcome.err, HasSubstr(why)) << arguments;
        EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1) << outcome.err;
    };
    refuses("--allow 'A B'", "is not a caller");
    refuses("--allow A@no-such-machine.invalid", "no such machine");
    refuses("--allow A --title SEVENTEENLETTERS1", "application title");
    refuses("--allow A@127.0.0.1 --key $D/key.pem", "belong together");
    refuses("--allow A@127.0.0.1 --key $D/cert.pem --certificate $D/cert.pem", "is not a key");
    EXPECT_EQ(run("$ANFRACT listen").code, 2);
    const auto program = listener();
    ASSERT_TRUE(program);
    refuses("--allow A@127.0.0.1", "another program listens");
    const Outcome taken =
        run("timeout 20 $ANFRACT listen --data $D/data2 --allow A@127.0.0.1 --port " +
            std::to_string(port_));
    EXPECT_EQ(taken.code, 1);
    EXPECT_THAT(taken.err, HasSubstr("port cannot be listened on"));
}

// ---- archives ----

TEST_F(Exchange, ACaseGoesOutAndComesBackEqualWithItsScan) {
    fs::create_directories(path("data"));
    const std::string scan = "0123456789abcdef";
    fs::create_directories(path("data/scans/" + scan));
    // A scan that lies elsewhere, beside a series of someone else.
    fs::create_directories(path("elsewhere"));
    ASSERT_EQ(run("cp $D/case/scan/* $D/elsewhere && "
                  "$ANFRACT phantom lower-molar --out $D/someone --seed 5 --voxel 0.4 && "
                  "for f in $D/someone/scan/*; do cp $f $D/elsewhere/other-$(basename $f); done")
                  .code,
              0);
    const std::string uid =
        nlohmann::json::parse(run("$ANFRACT survey $D/case/scan").out).value("series_uid", "");
    std::ofstream(path("data/scans/" + scan + "/scan.json"))
        << nlohmann::json{{"path", path("elsewhere")}, {"series_uid", uid}, {"uploaded", false}};
    std::string id;
    {
        const auto record = record::Record::open(record::RecordPlace::below(path("data")));
        ASSERT_TRUE(record);
        id = (*record)
                 ->cases()
                 .add({"", "", scan, "34", "practice", true}, {"tooth", "{}", "t.json"}, "")
                 ->id;
        ASSERT_TRUE(
            (*record)->log().append(id,
                                    {{"entries",
                                      {{{"entry_id", "00000000-0000-4000-8000-000000000001"},
                                        {"at", "2026-01-31T12:00:00Z"},
                                        {"kind", "note"},
                                        {"text", "x"}}}}},
                                    ""));
    }
    const Outcome out = run("$ANFRACT archive export " + id + " --data $D/data --out $D/case.zip");
    ASSERT_EQ(out.code, 0) << out.err;
    EXPECT_THAT(out.err, HasSubstr("not encrypted"));
    const Outcome in = run("$ANFRACT archive import --data $D/new $D/case.zip");
    ASSERT_EQ(in.code, 0) << in.err;
    EXPECT_THAT(run("$ANFRACT archive import --data $D/new $D/case.zip").out,
                HasSubstr("there already, equal"));
    EXPECT_THAT(run("$ANFRACT case log --data $D/new " + id).out,
                testing::StrEq(run("$ANFRACT case log --data $D/data " + id).out));
    EXPECT_EQ(run("$ANFRACT store check --data $D/new").code, 0);
    // The scan came along, without the other person's.
    EXPECT_EQ(survey(path("new/scans/" + scan + "/voxels.zip")), survey(path("case/scan")));
    // Out again from there: the same files.
    ASSERT_EQ(run("$ANFRACT archive export " + id + " --data $D/new --out $D/again.zip").code, 0);
    fs::remove_all(path("elsewhere"));
    const Outcome gone = run("$ANFRACT archive export " + id + " --data $D/data --out $D/gone.zip");
    EXPECT_EQ(gone.code, 1);
    EXPECT_THAT(gone.err, HasSubstr("--without-scan"));
    EXPECT_EQ(
        run("$ANFRACT archive export " + id + " --without-scan --data $D/data --out $D/gone.zip")
            .code,
        0);
}

TEST_F(Exchange, ArchivesRefuseWhatIsNoneInOneSentence) {
    std::ofstream(path("text.zip")) << "hello";
    for (const char* name : {"text.zip", "none.zip", "case/truth.json"}) {
        const Outcome outcome =
            run("$ANFRACT archive import --data $D/fresh $D/" + std::string(name));
        EXPECT_EQ(outcome.code, 1);
        EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1) << outcome.err;
    }
    EXPECT_EQ(run("$ANFRACT archive").code, 2);
}

// ---- a plan in other forms ----

/// A tooth of one straight canal, made by hand, and its plan.
class PlanForms : public Exchange {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        nlohmann::json samples{{"depth_mm", nlohmann::json::array()},
                               {"point_mm", nlohmann::json::array()},
                               {"diameter_mm", nlohmann::json::array()}};
        for (int i = 0; i <= 48; ++i) {
            samples["depth_mm"].push_back(8 + 0.25 * i);
            samples["point_mm"].push_back({0, 0, 8 + 0.25 * i});
            samples["diameter_mm"].push_back(0.4);
        }
        std::ofstream(path("tooth.json")) << nlohmann::json{{"format", "anfract.tooth"},
                                                            {"version", 1},
                                                            {"frame", "LPS-mm"},
                                                            {"invented", true},
                                                            {"tooth", {{"fdi", "36"}}},
                                                            {"reference_mm", {0, 0, 0}},
                                                            {"canals",
                                                             {{{"name", "D"},
                                                               {"orifice_mm", {0, 0, 8}},
                                                               {"foramen_mm", {0, 0, 20}},
                                                               {"length_mm", 12},
                                                               {"depth_to_foramen_mm", 20},
                                                               {"samples", samples}}}}};
        const Outcome planned = run("$ANFRACT plan $D/tooth.json --out $D/plan.json");
        ASSERT_EQ(planned.code, 0) << planned.err;
    }
};

TEST_F(PlanForms, DicomObjectsAreWhatTheStandardDefines) {
    const Outcome made =
        run("$ANFRACT report $D/plan.json --out $D/letter.pdf && "
            "$ANFRACT dicom $D/plan.json --letter $D/letter.pdf --study 1.2.3 --frame 1.2.4 --out "
            "$D/objects");
    ASSERT_EQ(made.code, 0) << made.err;
    for (const char* name :
         {"measurements", "canals", "ruler", "section-buccal", "section-mesial", "letter"}) {
        const Outcome verdict = run("dciodvfy $D/objects/" + std::string(name) + ".dcm");
        EXPECT_THAT(verdict.err, testing::Not(HasSubstr("Error"))) << name;
        EXPECT_THAT(run("dcmdump +P StudyInstanceUID $D/objects/" + std::string(name) + ".dcm").out,
                    HasSubstr("[1.2.3]"));
    }
    EXPECT_EQ(run("$ANFRACT dicom $D/plan.json --frame x --out $D/objects").code, 1);
}

TEST_F(PlanForms, ALeafletIsWrittenAsPdfAndHtmlInTwoLanguages) {
    std::ofstream(path("letter.json"))
        << R"({"format": "anfract.letter", "version": 1, "practice": ["Invented practice"], "call": "0123", "logo": "logo.png"})";
    EXPECT_EQ(
        run("$ANFRACT leaflet $D/plan.json --letter $D/letter.json --out $D/leaflet.pdf").code, 1);
    std::ofstream(path("logo.png")) << "no picture";
    EXPECT_THAT(
        run("$ANFRACT leaflet $D/plan.json --letter $D/letter.json --out $D/leaflet.pdf").err,
        HasSubstr("is not a PNG picture"));
    ASSERT_EQ(run("$ANFRACT report $D/plan.json --out $D/l.pdf && "
                  "pdftoppm -png -singlefile -r 20 $D/l.pdf $D/logo")
                  .code,
              0);
    ASSERT_EQ(
        run("$ANFRACT leaflet $D/plan.json --letter $D/letter.json --out $D/leaflet.pdf").code, 0);
    const std::string text = run("pdftotext $D/leaflet.pdf -").out;
    for (const char* words :
         {"tooth 36 (Universal 19)", "Invented practice", "0123", "Invented data"})
        EXPECT_THAT(text, HasSubstr(words));
    EXPECT_THAT(run("pdfimages -list $D/leaflet.pdf").out, HasSubstr("image"));
    ASSERT_EQ(run("$ANFRACT leaflet $D/plan.json --language de --out $D/leaflet.html").code, 0);
    EXPECT_THAT(slurp(path("leaflet.html")), HasSubstr("<html lang=\"de\">"));
    EXPECT_THAT(run("$ANFRACT leaflet $D/plan.json --language xx --out $D/a.pdf").err,
                HasSubstr("give en or de"));
    EXPECT_THAT(run("$ANFRACT leaflet $D/plan.json --out $D/a.doc").err,
                HasSubstr(".pdf nor .html"));
}

TEST_F(PlanForms, ADischargeLetterSaysWhatTheRecordTells) {
    fs::create_directories(path("data"));
    std::string id;
    {
        const auto record = record::Record::open(record::RecordPlace::below(path("data")));
        ASSERT_TRUE(record);
        id = (*record)
                 ->cases()
                 .add({"", "", "", "36", "practice", true}, {"tooth", "{}", "t.json"}, "")
                 ->id;
        const auto entry = [](const char* number, nlohmann::json more) {
            more["entry_id"] = std::string("00000000-0000-4000-8000-00000000000") + number;
            more["at"] = std::string("2026-01-31T12:0") + number + ":00Z";
            return more;
        };
        ASSERT_TRUE((*record)->log().append(
            id,
            {{"entries",
              {entry("1", {{"kind", "depth-measured"}, {"canal", "D"}, {"depth_mm", 19.4}}),
               entry("2", {{"kind", "step-done"}, {"canal", "D"}, {"device", "first-file"}}),
               entry("3", {{"kind", "step-done"}, {"canal", "D"}, {"device", "last-file"}}),
               entry("4",
                     {{"kind", "device-broken"}, {"canal", "ML"}, {"device", "broken-file"}})}}},
            ""));
        ASSERT_TRUE((*record)->notes().save(
            id, 0,
            {{"diagnosis", {{"pulpal", "pulp-necrosis"}, {"apical", "chronic-apical-abscess"}}},
             {"completed", "2026-01-31"},
             {"fillings", {{{"canal", "D"}, {"from_apex_mm", 0.5}}}},
             {"materials", {{{"what", "Invented sealer"}, {"use", "sealer"}, {"lot", "L-77"}}}},
             {"prognosis", "good <b>indeed</b>"}},
            ""));
    }
    const Outcome made = run("$ANFRACT discharge " + id + " --data $D/data --out $D/discharge.pdf");
    ASSERT_EQ(made.code, 0) << made.err;
    const std::string text = run("pdftotext -layout $D/discharge.pdf -").out;
    // K04.1 necrosis and K04.6 abscess with sinus: ICD-10-CM, from memory. First recall after a
    // year: quality guidelines of the ESE, 2006.
    for (const char* words : {"pulp necrosis", "chronic apical abscess", "K04.1", "K04.6", "19.4",
                              "last-file", "0.5 short of it", "L-77", "broken-file", "2027-01-31",
                              "good <b>indeed</b>", "tooth 36 (Universal 19)", "clinician decides"})
        EXPECT_THAT(text, HasSubstr(words));
    EXPECT_THAT(text, testing::Not(HasSubstr("first-file")));
    ASSERT_EQ(run("$ANFRACT discharge " + id + " --data $D/data --out $D/discharge.html").code, 0);
    EXPECT_THAT(slurp(path("discharge.html")), HasSubstr("good &lt;b&gt;indeed"));
    std::ofstream(path("own.html")) << "<h1>{{tooth}}</h1><p>{{prognosis}}</p>";
    ASSERT_EQ(
        run("$ANFRACT discharge " + id + " --data $D/data --template $D/own.html --out $D/own.pdf")
            .code,
        0);
    std::ofstream(path("own.html")) << "<h1>{{#tooth}}</h1>";
    EXPECT_EQ(
        run("$ANFRACT discharge " + id + " --data $D/data --template $D/own.html --out $D/own.pdf")
            .code,
        1);
    EXPECT_EQ(run("$ANFRACT discharge 0123456789abcdef --data $D/data --out $D/none.pdf").code, 1);
}

}  // namespace
}  // namespace anfract::cli
