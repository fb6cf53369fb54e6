#include <cstdio>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/file.h"
#include "anfract/base/json_document.h"
#include "anfract/exchange/dicom_scan.h"
#include "anfract/exchange/fhir.h"
#include "anfract/exchange/pseudonymous_plan.h"
#include "anfract/plan/plan_file.h"
#include "anfract/record/case_archive.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "anfract/record/pseudonym.h"
#include "anfract/report/letter.h"
#include "anfract/scan/read_scan.h"
#include "anfract/server/plan_objects.h"
#include "anfract/server/scan_folder.h"
#include "anfract/tooth/tooth_file.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

struct Options {
    RecordOptions record;
    std::string id;
    fs::path out;
};

/// A folder of the user's own beside the archive, gone with everything in it at the end.
class WorkFolder {
  public:
    static Result<std::unique_ptr<WorkFolder>> beside(const fs::path& out) {
        const fs::path place = out.string() + ".making-" + record::random_hex(4);
        std::error_code error;
        if (!fs::create_directory(place, error)) {
            return fail(ErrorCode::Io, "cannot be made", place.string(),
                        "name a file in a folder that is there and can be written to");
        }
        fs::permissions(place, fs::perms::owner_all, error);
        return std::unique_ptr<WorkFolder>(new WorkFolder(place));
    }
    WorkFolder(const WorkFolder&) = delete;
    WorkFolder& operator=(const WorkFolder&) = delete;
    ~WorkFolder() {
        std::error_code error;
        fs::remove_all(place_, error);
    }
    const fs::path& place() const { return place_; }

  private:
    explicit WorkFolder(fs::path place) : place_(std::move(place)) {}
    fs::path place_;
};

/// What stays behind, since nobody can vouch for what it says.
struct LeftOut {
    int texts = 0;
    std::set<std::string> kinds;
};

/// Strings that hold something, at any depth.
int count_texts(const json& value) {
    if (value.is_string()) return value.get_ref<const std::string&>().empty() ? 0 : 1;
    int count = 0;
    if (value.is_structured()) {
        for (const json& one : value) count += count_texts(one);
    }
    return count;
}

/// One case on its way from a record to an archive in which nothing tells whose it is.
class Pseudonymising {
  public:
    Pseudonymising(const record::Record& from, const Options& options, fs::path folder,
                   const Progress& progress)
        : from_(from), options_(options), folder_(std::move(folder)), progress_(progress) {}

    Result<void> run() {
        return read()
            .and_then([this] { return open_new_record(); })
            .and_then([this] { return move_scan(); })
            .and_then([this] { return add_documents(); })
            .and_then([this] { return add_open_formats(); })
            .and_then([this] { return pack(); });
    }
    const record::Pseudonym& who() const { return who_; }
    const LeftOut& left_out() const { return left_out_; }

  private:
    template <class Read>
    auto document(const std::string& kind, const std::string& format, const Read& read)
        -> decltype(read(json())) {
        const auto file = from_.cases().file(options_.id, kind);
        if (!file) return tl::unexpected(file.error());
        const auto text = from_.vault().get(file->sha256);
        if (!text) return tl::unexpected(text.error());
        return parse_document(*text, format, kind + " of case " + options_.id).and_then(read);
    }

    Result<void> read() {
        auto entry = from_.cases().find(options_.id);
        if (!entry) return tl::unexpected(entry.error());
        entry_ = std::move(*entry);
        auto tooth = document("tooth", "anfract.tooth",
                              [](const json& one) { return tooth_from_json(one, "tooth"); });
        if (!tooth) return tl::unexpected(tooth.error());
        tooth_ = std::move(*tooth);
        auto plan = document("plan", "anfract.plan",
                             [](const json& one) { return plan_from_json(one, "plan"); });
        if (plan) {
            plan_ = std::move(*plan);
        } else if (plan.error().code != ErrorCode::NotFound) {
            return tl::unexpected(plan.error());
        }
        const Tooth renamed = pseudonymous_tooth(tooth_, "");
        for (std::size_t i = 0; i < tooth_.canals.size(); ++i)
            names_.canals[tooth_.canals[i].name] = renamed.canals[i].name;
        names_.devices = pseudonymous_devices(plan_ ? plan_->tray : Tray());
        const auto files = from_.cases().files(options_.id);
        if (!files) return tl::unexpected(files.error());
        for (const record::CaseFile& file : *files) {
            if (file.kind != "tooth" && file.kind != "plan") left_out_.kinds.insert(file.kind);
        }
        return {};
    }

    Result<void> open_new_record() {
        auto opened = record::Record::open(record::RecordPlace::below(folder_));
        if (!opened) return tl::unexpected(opened.error());
        to_ = std::move(*opened);
        return {};
    }

    /// The scan, written anew from its voxels onto the shelf of the new record.
    Result<void> move_scan() {
        if (entry_.scan.empty()) return {};
        const auto described = from_.scans().find(entry_.scan);
        if (!described) return tl::unexpected(described.error());
        const auto description = server::description_of(*described, "");
        if (!description) return tl::unexpected(description.error());
        const auto place = scan_place(*described, description->value("path", ""));
        if (!place) return tl::unexpected(place.error());
        ReadOptions reading;
        reading.series_uid = description->value("series_uid", "");
        const auto opened = open_scan(*place, reading, progress_);
        if (!opened) return tl::unexpected(opened.error());
        const fs::path series = folder_ / "series";
        std::error_code error;
        fs::create_directory(series, error);
        const auto ids = write_pseudonymous_scan(opened->volume, who_.name, series, progress_);
        if (!ids) return tl::unexpected(ids.error());
        ids_ = *ids;
        auto taken = server::take_in_scan(*to_, series, who_.name, progress_);
        if (!taken) return tl::unexpected(taken.error());
        new_scan_ = std::move(*taken);
        return {};
    }

    /// Where the readers find it: what the record keeps is linked by its name, whose ending they
    /// know it by.
    Result<fs::path> scan_place(const record::KeptScan& scan, const std::string& path) const {
        if (scan.sha256.empty()) return fs::path(path);
        const fs::path place = folder_ / "reading" / fs::path(scan.name).filename();
        std::error_code error;
        fs::create_directory(place.parent_path(), error);
        fs::create_symlink(fs::absolute(from_.vault().path(scan.sha256)), place, error);
        if (!error) return place;
        return fail(ErrorCode::Io, "cannot be linked (" + error.message() + ")", place.string(),
                    "check the disk");
    }

    Result<void> add_documents() {
        const Tooth tooth = pseudonymous_tooth(tooth_, ids_.series_uid);
        const auto added =
            to_->cases().add({"", "", new_scan_, entry_.fdi, who_.name, entry_.invented},
                             {"tooth", tooth_to_json(tooth).dump(), "tooth.json"}, "");
        if (!added) return tl::unexpected(added.error());
        new_id_ = added->id;
        if (plan_) {
            auto plan = pseudonymous_plan(*plan_, ids_.series_uid, progress_);
            if (!plan) return tl::unexpected(plan.error());
            plan_ = std::move(*plan);
            const auto kept = to_->cases().add_file(
                new_id_, {"plan", plan_to_json(*plan_).dump(), "plan.json"}, "");
            if (!kept) return tl::unexpected(kept.error());
        }
        return add_notes().and_then([this] { return add_log(); });
    }

    Result<void> add_notes() {
        const auto notes = from_.notes().find(options_.id);
        if (!notes) return tl::unexpected(notes.error());
        const json told = record::pseudonymised_notes(notes->notes, who_, names_);
        left_out_.texts += std::max(0, count_texts(notes->notes) - count_texts(told));
        const auto saved = to_->notes().save(new_id_, 0, told, "");
        if (!saved) return tl::unexpected(saved.error());
        return {};
    }

    Result<void> add_log() {
        const auto entries = from_.log().entries(options_.id);
        if (!entries) return tl::unexpected(entries.error());
        for (const json& entry : *entries) left_out_.texts += int(entry.contains("text"));
        const auto logged =
            to_->log().append(new_id_, record::pseudonymised_log(*entries, who_, names_), "");
        if (!logged) return tl::unexpected(logged.error());
        return {};
    }

    Result<void> put_beside(const std::string& name, const std::string& bytes) {
        const fs::path place = folder_ / "open" / name;
        std::error_code error;
        fs::create_directories(place.parent_path(), error);
        beside_.push_back({"open/" + name, place});
        return write_file_atomically(place, bytes, 0600);
    }

    /// The plan for who has another program: the letter, an HL7 FHIR bundle and DICOM objects.
    Result<void> add_open_formats() {
        if (!plan_) return {};
        Letter letter;
        letter.patient = who_.name;
        const auto pdf = letter_pdf(*plan_, letter);
        if (!pdf) return tl::unexpected(pdf.error());
        FhirSubject subject;
        subject.identifier = who_.name;
        const auto bundle = fhir_bundle(*plan_, subject, *pdf);
        if (!bundle) return tl::unexpected(bundle.error());
        if (auto done = put_beside("letter.pdf", *pdf); !done) return done;
        if (auto done = put_beside("fhir.json", bundle->dump(1)); !done) return done;
        return add_dicom(*pdf);
    }

    Result<void> add_dicom(const std::string& pdf) {
        DicomSubject subject;
        subject.family = subject.identifier = who_.name;
        subject.study.study_uid = ids_.study_uid;
        subject.study.frame_uid = ids_.frame_uid;
        // A moment that tells nothing, since reports must have one.
        subject.issued = "1900-01-01T00:00:00";
        subject.pseudonym = true;
        const auto objects = server::plan_objects(*plan_, subject, pdf);
        if (!objects) return tl::unexpected(objects.error());
        for (const DicomObject& object : *objects) {
            if (auto done = put_beside("dicom/" + object.name, object.bytes); !done) return done;
        }
        return {};
    }

    Result<void> pack() {
        const auto report = record::export_case(*to_, new_id_, beside_, options_.out, progress_);
        if (!report) return tl::unexpected(report.error());
        return {};
    }

    const record::Record& from_;
    const Options& options_;
    const fs::path folder_;
    const Progress& progress_;
    const record::Pseudonym who_ = record::new_pseudonym();
    LeftOut left_out_;
    record::CaseEntry entry_;
    Tooth tooth_;
    std::optional<Plan> plan_;
    record::PseudonymousNames names_;
    std::unique_ptr<record::Record> to_;
    std::string new_id_, new_scan_;
    PseudonymousScan ids_;
    std::vector<record::BesideFile> beside_;
};

std::string left_out_words(const LeftOut& left_out) {
    std::string text =
        "Left out, since nobody has vouched for what it says: " + std::to_string(left_out.texts) +
        " texts of the notes and the log";
    for (const std::string& kind : left_out.kinds) text += ", every " + kind;
    return text + ".";
}

Result<void> run(const Options& options, const Progress& progress) {
    const auto record = options.record.open();
    if (!record) return tl::unexpected(record.error());
    if (auto seen = record_look(**record, "case pseudonymise", options.id); !seen) return seen;
    const auto folder = WorkFolder::beside(options.out);
    if (!folder) return tl::unexpected(folder.error());
    Pseudonymising work(**record, options, (*folder)->place(), progress);
    if (auto done = work.run(); !done) return done;
    std::printf("%s stands for case %s, dates are %d days earlier; keep this line to yourself\n",
                work.who().name.c_str(), options.id.c_str(), work.who().days_earlier);
    std::fprintf(stderr,
                 "%s\nWhat the voxels show stays: a face can be recognised in a large scan.\n",
                 left_out_words(work.left_out()).c_str());
    return {};
}

}  // namespace

void add_pseudonymise_command(CLI::App& of_cases, Action& action) {
    const auto [one, options] = add_record_subcommand<Options>(
        of_cases, "pseudonymise",
        "Archive a case and its scan without what tells who the patient is", run, action);
    one->add_option("CASE", options->id, "sixteen hexadecimal digits")->required();
    one->add_option("FILE", options->out, "zip file to write, for 'anfract archive import'")
        ->required();
}

}  // namespace anfract::cli
