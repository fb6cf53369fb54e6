// The objects of a plan in an archive that is not ours: Orthanc, run for the test on ports of its
// own, with its DICOMweb plug-in.

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>
#include <gmock/gmock.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <nlohmann/json.hpp>
#include <set>
#include <thread>

#include "anfract/exchange/dicom_scan.h"
#include "anfract/scan/read_scan.h"
#include "client.h"
#include "dicom_fixture.h"

extern char** environ;

namespace anfract {
namespace {

using namespace test;
using nlohmann::json;
using ::testing::HasSubstr;

constexpr const char* program = "/usr/sbin/Orthanc";
constexpr const char* plug_in = "/usr/share/orthanc/plugins/libOrthancDicomWeb.so";

/// The archive, empty, on loopback; ports are found by trying.
class Orthanc {
  public:
    explicit Orthanc(const fs::path& folder) {
        for (int tries = 0; tries < 20 && !started_; ++tries)
            start(folder, 43000 + (int(::getpid()) * 7 + tries * 31) % 6000);
    }
    Orthanc(const Orthanc&) = delete;
    Orthanc& operator=(const Orthanc&) = delete;
    ~Orthanc() { stop(); }

    bool started() const { return started_; }
    int dicom_port() const { return http_port_ + 1; }
    http::test::Reply ask(const std::string& method, const std::string& target,
                          const std::string& body = "",
                          const http::test::Headers& headers = {}) const {
        return http::test::ask(std::uint16_t(http_port_), method, target, body, headers);
    }
    json get(const std::string& target) const {
        return json::parse(ask("GET", target).body, nullptr, false);
    }

  private:
    void start(const fs::path& folder, int port) {
        http_port_ = port;
        const fs::path settings = folder / "orthanc.json";
        std::ofstream(settings) << json{{"StorageDirectory", folder / "kept"},
                                        {"IndexDirectory", folder / "kept"},
                                        {"HttpPort", port},
                                        {"DicomPort", port + 1},
                                        {"DicomAet", "ARCHIVE"},
                                        {"DicomCheckCalledAet", true},
                                        {"RemoteAccessAllowed", false},
                                        {"AuthenticationEnabled", false},
                                        {"Plugins", {plug_in}},
                                        {"DicomWeb", {{"Enable", true}, {"Root", "/dicom-web/"}}}};
        std::string words[] = {program, "--logfile=" + (folder / "orthanc.log").string(),
                               settings.string()};
        char* const arguments[] = {words[0].data(), words[1].data(), words[2].data(), nullptr};
        if (::posix_spawn(&pid_, program, nullptr, nullptr, arguments, environ) != 0) {
            pid_ = -1;
            return;
        }
        for (int i = 0; i < 300 && ::waitpid(pid_, nullptr, WNOHANG) == 0; ++i) {
            try {
                started_ = get("/system").is_object();
            } catch (const std::exception&) {  // not yet
            }
            if (started_) return;
            std::this_thread::sleep_for(std::chrono::milliseconds(100));
        }
        stop();
    }
    void stop() {
        if (pid_ <= 0) return;
        ::kill(pid_, SIGTERM);
        ::waitpid(pid_, nullptr, 0);
        pid_ = -1;
    }
    int http_port_ = 0;
    pid_t pid_ = -1;
    bool started_ = false;
};

class InOrthanc : public DicomObjects {
  protected:
    void SetUp() override {
        DicomObjects::SetUp();
        ASSERT_TRUE(fs::exists(program) && fs::exists(plug_in)) << "scripts/setup installs it";
        orthanc_ = std::make_unique<Orthanc>(folder_);
        ASSERT_TRUE(orthanc_->started());
        write(someone);
    }
    void TearDown() override {
        orthanc_.reset();
        DicomObjects::TearDown();
    }

    /// What the archive shows of the plan, whichever way it came in.
    void expect_shown() const {
        const json studies = orthanc_->get("/studies?expand");
        ASSERT_EQ(studies.size(), 1u) << studies;
        EXPECT_EQ(studies[0]["MainDicomTags"]["StudyInstanceUID"], someone.study.study_uid);
        EXPECT_EQ(studies[0]["PatientMainDicomTags"]["PatientName"], "Invented^Case");
        EXPECT_EQ(studies[0]["PatientMainDicomTags"]["PatientID"], someone.identifier);
        std::set<std::string> modalities;
        for (const json& series : orthanc_->get("/series?expand"))
            modalities.insert(series["MainDicomTags"]["Modality"].get<std::string>());
        EXPECT_EQ(modalities, (std::set<std::string>{"DOC", "OT", "SEG", "SR"}));
        for (const json& instance : orthanc_->get("/instances?expand")) {
            const std::string id = instance["ID"];
            const json tags = orthanc_->get("/instances/" + id + "/simplified-tags");
            if (tags["Modality"] == "DOC") {
                // An odd letter is padded by one byte [DICOM PS3.5, 8.2].
                EXPECT_THAT(orthanc_->ask("GET", "/instances/" + id + "/pdf").body,
                            HasSubstr(letter));
            }
            if (tags["Modality"] == "OT") {
                const auto shown = orthanc_->ask("GET", "/instances/" + id + "/preview");
                EXPECT_EQ(shown.status, 200);
                EXPECT_THAT(shown.body, ::testing::StartsWith("\x89PNG"));
            }
            // This version of the archive draws no pixels of one bit, but it knows the segment and
            // gives the voxels back.
            if (tags["Modality"] == "SEG") {
                EXPECT_EQ(tags["SegmentSequence"][0]["SegmentLabel"], plan_->tooth.canals[0].name);
                const std::string voxels =
                    orthanc_->ask("GET", "/instances/" + id + "/content/7fe0-0010/0").body;
                DcmFileFormat ours;
                ASSERT_TRUE(ours.loadFile((folder_ / "canals.dcm").c_str()).good());
                const Uint8* bytes = nullptr;
                unsigned long count = 0;
                ours.getDataset()->findAndGetUint8Array(DCM_PixelData, bytes, &count);
                EXPECT_TRUE(voxels == std::string(reinterpret_cast<const char*>(bytes), count));
                EXPECT_GT(count, 1000u);
            }
        }
    }

    std::unique_ptr<Orthanc> orthanc_;
};

TEST_F(InOrthanc, AreTakenByStoreAndShown) {
    std::vector<fs::path> files;
    for (const char* name : names) files.push_back(folder_ / name);
    const DicomNode node{.host = "127.0.0.1", .port = orthanc_->dicom_port(), .called = "ARCHIVE"};
    const auto sent = send_dicom(files, node);
    ASSERT_TRUE(sent) << sent.error().sentence();
    expect_shown();
    DicomNode other = node;
    other.called = "OTHER";
    EXPECT_FALSE(send_dicom(files, other));
}

/// The archive puts a study under its patient by the patient's number [Orthanc Book, "Orthanc
/// identifiers", from memory], so that both must be those of the scan.
TEST_F(InOrthanc, LieInTheStudyOfTheScan) {
    Volume volume;
    volume.geometry.size = {4, 4, 3};
    volume.voxels = std::vector<std::int16_t>(48, 7);
    const fs::path series = folder_ / "scan";
    fs::create_directory(series);
    ASSERT_TRUE(write_pseudonymous_scan(volume, "I-8", series, {}));
    const auto scan = open_scan(series, {}, {});
    ASSERT_TRUE(scan) << scan.error().sentence();
    DicomSubject subject = someone;
    subject.study = scan->study;
    write(subject);
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(series)) files.push_back(entry.path());
    for (const char* name : names) files.push_back(folder_ / name);
    ASSERT_TRUE(send_dicom(
        files, {.host = "127.0.0.1", .port = orthanc_->dicom_port(), .called = "ARCHIVE"}));
    const json patients = orthanc_->get("/patients?expand"),
               studies = orthanc_->get("/studies?expand");
    ASSERT_EQ(patients.size(), 1u) << patients;
    EXPECT_EQ(patients[0]["MainDicomTags"]["PatientID"], "I-8");
    ASSERT_EQ(studies.size(), 1u) << studies;
    EXPECT_EQ(studies[0]["MainDicomTags"]["StudyInstanceUID"], scan->study.study_uid);
    EXPECT_EQ(studies[0]["Series"].size(), 5u);  // the scan, and those of the plan
    std::set<std::string> frames;
    for (const json& instance : orthanc_->get("/instances?expand")) {
        const json tags =
            orthanc_->get("/instances/" + instance["ID"].get<std::string>() + "/simplified-tags");
        if (tags["Modality"] == "CT" || tags["Modality"] == "SEG")
            frames.insert(tags["FrameOfReferenceUID"]);
    }
    EXPECT_EQ(frames, std::set<std::string>{scan->study.frame_uid});
}

/// STOW-RS and QIDO-RS [DICOM PS3.18, 10.5, 10.6].
TEST_F(InOrthanc, AreTakenOverTheWebAndFound) {
    std::string body;
    for (const char* name : names) {
        std::ifstream file(folder_ / name, std::ios::binary);
        body += "--edge\r\nContent-Type: application/dicom\r\n\r\n" +
                std::string(std::istreambuf_iterator<char>(file), {}) + "\r\n";
    }
    body += "--edge--\r\n";
    const auto stored = orthanc_->ask(
        "POST", "/dicom-web/studies", body,
        {{"Content-Type", "multipart/related; type=\"application/dicom\"; boundary=edge"},
         {"Accept", "application/dicom+json"}});
    ASSERT_EQ(stored.status, 200) << stored.body;
    const json answer = json::parse(stored.body);
    EXPECT_EQ(answer["00081199"]["Value"].size(), 4u) << answer;  // Referenced SOP Sequence
    EXPECT_FALSE(answer.value("00081198", json::object()).contains("Value"))
        << answer;  // Failed SOP Sequence
    expect_shown();
    const json found = json::parse(
        orthanc_
            ->ask("GET", "/dicom-web/studies/" + someone.study.study_uid + "/series?Modality=SEG",
                  "", {{"Accept", "application/dicom+json"}})
            .body);
    ASSERT_EQ(found.size(), 1u) << found;
    EXPECT_EQ(found[0]["0020000D"]["Value"][0], someone.study.study_uid);
}

}  // namespace
}  // namespace anfract
