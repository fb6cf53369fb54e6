#include <algorithm>
#include <filesystem>
#include <memory>

#include "anfract/exchange/dicom_objects.h"
#include "command.h"
#include "tls_options.h"

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;

struct Options {
    std::vector<std::string> inputs;
    std::string to, calling = DicomNode().calling;
    DicomTls tls;
};

Result<void> run(const Options& options) {
    auto node = parse_dicom_node(options.to);
    if (!node) return tl::unexpected(node.error());
    node->calling = options.calling;
    node->tls = options.tls;
    std::vector<fs::path> files;
    for (const std::string& input : options.inputs) {
        std::error_code error;
        if (!fs::is_directory(input, error)) {
            files.emplace_back(input);
            continue;
        }
        for (const auto& entry : fs::directory_iterator(input, error)) {
            if (entry.is_regular_file(error)) files.push_back(entry.path());
        }
    }
    std::sort(files.begin(), files.end());
    if (files.empty())
        return fail(ErrorCode::NotFound, "there is nothing to send", options.inputs.front(), "");
    return send_dicom(files, *node);
}

}  // namespace

void add_send_command(CLI::App& app, Action& action) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand(
        "send", "Send DICOM files to another program over the network (C-STORE)");
    command->add_option("FILES", options->inputs, "DICOM files, or folders of them")->required();
    command->add_option("--to", options->to, "TITLE@HOST:PORT")->required();
    command->add_option("--calling", options->calling, "our own application title (ANFRACT)");
    add_tls_options(*command, options->tls);
    command->footer(
        "Without --trusted the files go over the network as they are, unencrypted: they may name a "
        "patient. Use it within the practice's own network only.");
    command->callback(
        [options, &action] { action = [options](Progress&) { return run(*options); }; });
}

}  // namespace anfract::cli
