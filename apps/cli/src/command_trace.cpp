#include <memory>
#include <nlohmann/json.hpp>
#include <vector>

#include "anfract/geometry/point_text.h"
#include "anfract/scan/read_scan.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tracing/trace.h"
#include "command.h"
#include "deliver.h"

namespace anfract::cli {
namespace {

struct TraceOptions {
    std::string scan, inside, fdi, reference, series_uid;
    std::vector<std::string> canals;
    std::string out = "-";
};

/// "X,Y,Z:X,Y,Z"
Result<HandCanal> parse_canal(const std::string& text) {
    const std::size_t colon = text.find(':');
    if (colon == std::string::npos) {
        return fail(ErrorCode::BadInput, "'" + text + "' does not name two points", "--canal",
                    "give orifice and end as X,Y,Z:X,Y,Z in millimetres");
    }
    const auto orifice = parse_point(text.substr(0, colon), "--canal");
    if (!orifice) return tl::unexpected(orifice.error());
    const auto end = parse_point(text.substr(colon + 1), "--canal");
    if (!end) return tl::unexpected(end.error());
    return HandCanal{*orifice, *end};
}

Result<TraceRequest> request_from(const TraceOptions& options) {
    TraceRequest request;
    request.fdi = options.fdi;
    const auto inside = parse_point(options.inside, "--inside");
    if (!inside) return tl::unexpected(inside.error());
    request.inside_P = *inside;
    if (!options.reference.empty()) {
        const auto reference = parse_point(options.reference, "--reference");
        if (!reference) return tl::unexpected(reference.error());
        request.reference_P = *reference;
    }
    for (const std::string& text : options.canals) {
        const auto canal = parse_canal(text);
        if (!canal) return tl::unexpected(canal.error());
        request.by_hand.push_back(*canal);
    }
    return request;
}

Result<void> trace_scan(const TraceOptions& options, Progress& progress) {
    // What can be refused without reading a large scan is refused first.
    const auto request = request_from(options);
    if (!request) return tl::unexpected(request.error());
    ReadOptions how;
    how.series_uid = options.series_uid;
    const auto volume = read_scan(options.scan, how, progress);
    if (!volume) return tl::unexpected(volume.error());
    const auto tooth = trace(*volume, *request, progress);
    if (!tooth) return tl::unexpected(tooth.error());
    return deliver(options.out, tooth_to_json(*tooth), "anfract.tooth");
}

}  // namespace

void add_trace_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<TraceOptions>();
    CLI::App* command =
        app.add_subcommand("trace", "Find the canals of the tooth at a point of a scan");
    command->add_option("scan", options->scan, "DICOM folder, file or zip, NIfTI, NRRD")
        ->required();
    command
        ->add_option("--inside", options->inside,
                     "X,Y,Z in the pulp chamber or the middle of the crown, patient LPS mm")
        ->required();
    command->add_option("--fdi", options->fdi, "ISO 3950 number of the tooth; names the canals");
    command->add_option("--reference", options->reference,
                        "X,Y,Z from which depths are counted; else the highest point of the crown");
    command->add_option("--canal", options->canals,
                        "ORIFICE:END, each X,Y,Z; a canal to trace whatever is seen of it");
    command->add_option("--series", options->series_uid,
                        "Series Instance UID, when there are several");
    command->add_option("--out", options->out, "file to write; - is the standard output")
        ->capture_default_str();
    command->callback([options, &action] {
        action = [options](Progress& progress) { return trace_scan(*options, progress); };
    });
}

}  // namespace anfract::cli
