#include "anfract/exchange/dicom_objects.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <fstream>
#include <thread>

#include "anfract/plan/cautions.h"
#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "anfract/tray/tray_file.h"
#include "made_tooth.h"

extern char** environ;

namespace anfract {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

/// What a command prints, both streams, and whether it left with 0.
struct Printed {
    std::string text;
    bool good = false;
};

Printed print_of(const std::string& command) {
    Printed printed;
    FILE* const pipe = ::popen((command + " 2>&1").c_str(), "r");
    char part[4096];
    for (std::size_t n = 0; (n = std::fread(part, 1, sizeof part, pipe)) > 0;)
        printed.text.append(part, n);
    printed.good = ::pclose(pipe) == 0;
    return printed;
}

class DicomObjects : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        Tooth tooth = test::tooth_with({test::straight_canal(12, 0.4)});
        tooth.invented = true;
        Tray tray = generic_tray();
        tray.devices.resize(8);
        plan_ = new Plan(*make_plan(tooth, tray, {}, {}));
    }
    static void TearDownTestSuite() { delete plan_; }

    void SetUp() override {
        std::string name = (fs::temp_directory_path() / "anfract-dicom-XXXXXX").string();
        ASSERT_NE(::mkdtemp(name.data()), nullptr);
        folder_ = name;
    }
    void TearDown() override { fs::remove_all(folder_); }

    /// Writes the objects of the plan with a letter into the folder.
    void write(const DicomSubject& subject) const {
        const auto objects = dicom_objects(*plan_, subject, letter);
        ASSERT_TRUE(objects) << objects.error().sentence();
        ASSERT_EQ(objects->size(), 2u);
        for (const DicomObject& object : *objects)
            std::ofstream(folder_ / object.name, std::ios::binary) << object.bytes;
    }

    static constexpr const char* letter = "%PDF-1.7 odd\n%%EOF\n";
    static Plan* plan_;
    fs::path folder_;
};
Plan* DicomObjects::plan_ = nullptr;

const DicomSubject someone{.family = "Invented",
                           .given = "Case",
                           .identifier = "INVENTED-1",
                           .birth_date = "1990-02-03",
                           .study_uid = "1.2.3.4",
                           .issued = "2026-01-02T03:04:05"};

TEST_F(DicomObjects, HoldTheFiguresAsDsrdumpReadsThem) {
    write(someone);
    const Printed report = print_of("dsrdump +Pl " + (folder_ / "measurements.dcm").string());
    EXPECT_TRUE(report.good) << report.text;
    EXPECT_THAT(report.text, HasSubstr("Imaging Measurement Report"));
    EXPECT_THAT(report.text, HasSubstr("UNVERIFIED"));
    char depth[64];
    std::snprintf(depth, sizeof depth, "=\"%.6g\" (mm,UCUM", plan_->canals[0].depth_to_foramen_mm);
    EXPECT_THAT(report.text, HasSubstr(depth));
    EXPECT_THAT(report.text, HasSubstr(plan_cautions().front()));
}

// dciodvfy of dicom3tools checks objects against the definitions of DICOM PS3.3.
TEST_F(DicomObjects, AreWhatTheStandardDefines) {
    write(someone);
    for (const char* name : {"measurements.dcm", "letter.dcm"}) {
        const Printed verdict = print_of("dciodvfy " + (folder_ / name).string());
        EXPECT_THAT(verdict.text, Not(HasSubstr("Error"))) << name << "\n" << verdict.text;
    }
}

TEST_F(DicomObjects, HoldTheLetterByteForByte) {
    write(someone);
    const std::string file = (folder_ / "letter.dcm").string();
    EXPECT_THAT(print_of("dcmdump +P EncapsulatedDocumentLength " + file).text, HasSubstr("UL 19"));
    const Printed back = print_of("dcm2pdf " + file + " " + (folder_ / "back.pdf").string());
    EXPECT_TRUE(back.good) << back.text;
    std::ifstream pdf(folder_ / "back.pdf", std::ios::binary);
    const std::string bytes(std::istreambuf_iterator<char>(pdf), {});
    EXPECT_EQ(bytes, letter);
    const std::string head = print_of("dcmdump " + file).text;
    for (const char* part : {"Invented^Case", "INVENTED-1", "19900203", "[1.2.3.4]", "030405"})
        EXPECT_THAT(head, HasSubstr(part));
}

TEST_F(DicomObjects, AreTheSameForTheSamePlan) {
    const auto one = dicom_objects(*plan_, someone, letter);
    const auto two = dicom_objects(*plan_, someone, letter);
    ASSERT_TRUE(one && two);
    for (std::size_t n = 0; n < one->size(); ++n) EXPECT_EQ((*one)[n].bytes, (*two)[n].bytes);
}

TEST_F(DicomObjects, RefuseWhatIsNoDateNameUidOrLetter) {
    const auto sentence = [&](auto change, const std::string& pdf = letter) {
        DicomSubject subject = someone;
        change(subject);
        const auto objects = dicom_objects(*plan_, subject, pdf);
        return objects ? "no error" : objects.error().sentence();
    };
    EXPECT_THAT(sentence([](DicomSubject& s) { s.birth_date = "3.2.90"; }), HasSubstr("a date"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.issued = "today"; }), HasSubstr("a time"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.study_uid = "1.2.x"; }), HasSubstr("UID"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.family = "A\\B"; }), HasSubstr("name"));
    EXPECT_THAT(sentence([](DicomSubject&) {}, "hello"), HasSubstr("not a PDF"));
}

TEST(DicomNode, IsTitleHostAndPort) {
    const auto node = parse_dicom_node("ARCHIVE@127.0.0.1:4242");
    ASSERT_TRUE(node);
    EXPECT_EQ(node->called, "ARCHIVE");
    EXPECT_EQ(node->host, "127.0.0.1");
    EXPECT_EQ(node->port, 4242);
    for (const char* bad : {"", "A@b", "A@b:0", "A@b:65536", "@b:1", "A@:1", "A@b:1;x", "A@b c:1",
                            "SEVENTEENLETTERS1@b:1"}) {
        EXPECT_FALSE(parse_dicom_node(bad)) << bad;
    }
}

/// storescp of dcmtk as the other side; takes a free port by trying.
class Receiver {
  public:
    explicit Receiver(const fs::path& into) {
        for (port = 41000 + int(::getpid() % 1000); port < 43000; port += 7) {
            std::vector<std::string> words{"storescp", "-od",   into.string(),
                                           "-aet",     "STORE", std::to_string(port)};
            std::vector<char*> arguments;
            for (std::string& word : words) arguments.push_back(word.data());
            arguments.push_back(nullptr);
            if (::posix_spawnp(&pid_, "storescp", nullptr, nullptr, arguments.data(), environ) != 0)
                return;
            std::this_thread::sleep_for(std::chrono::milliseconds(500));
            if (::waitpid(pid_, nullptr, WNOHANG) == 0) return;
            pid_ = -1;
        }
    }
    Receiver(const Receiver&) = delete;
    Receiver& operator=(const Receiver&) = delete;
    ~Receiver() {
        if (pid_ <= 0) return;
        ::kill(pid_, SIGTERM);
        ::waitpid(pid_, nullptr, 0);
    }
    int port = 0;

  private:
    pid_t pid_ = -1;
};

TEST_F(DicomObjects, ArriveAtAnotherProgram) {
    write(someone);
    fs::create_directory(folder_ / "there");
    const Receiver receiver(folder_ / "there");
    const DicomNode node{.host = "127.0.0.1", .port = receiver.port, .called = "STORE"};
    const auto sent = send_dicom({folder_ / "measurements.dcm", folder_ / "letter.dcm"}, node);
    ASSERT_TRUE(sent) << sent.error().sentence();
    std::size_t arrived = 0;
    for (const auto& entry : fs::directory_iterator(folder_ / "there")) {
        ++arrived;
        EXPECT_TRUE(print_of("dcmdump " + entry.path().string()).good);
    }
    EXPECT_EQ(arrived, 2u);
}

TEST_F(DicomObjects, SayWhenNoOneIsThere) {
    write(someone);
    const DicomNode nowhere{.host = "127.0.0.1", .port = 1, .called = "STORE"};
    const auto sent = send_dicom({folder_ / "letter.dcm"}, nowhere);
    ASSERT_FALSE(sent);
    EXPECT_THAT(sent.error().sentence(), HasSubstr("STORE@127.0.0.1:1"));
    std::ofstream(folder_ / "text.dcm") << "hello";
    const auto text = send_dicom({folder_ / "text.dcm"}, nowhere);
    ASSERT_FALSE(text);
    EXPECT_THAT(text.error().sentence(), HasSubstr("not a DICOM file"));
}

}  // namespace
}  // namespace anfract
