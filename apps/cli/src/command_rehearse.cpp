#include <atomic>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>

#include "anfract/base/parallel.h"
#include "anfract/passage/lumen.h"
#include "anfract/passage/passage_file.h"
#include "anfract/passage/rehearse.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tray/tray_file.h"
#include "command.h"
#include "deliver.h"

namespace anfract::cli {
namespace {

struct RehearseOptions {
    std::string tooth, tray, canal, device;
    std::string access = "axial";
    double friction = RehearsalOptions{}.friction;
    double temperature_degC = *RehearsalOptions{}.temperature_degC;
    bool profile = true;
    std::string out = "-";
};

/// "MB, DB, P"
template <class Items, class Name>
std::string listed(const Items& items, Name name) {
    std::string text;
    for (const auto& item : items) text += (text.empty() ? "" : ", ") + name(item);
    return text;
}

/// The canals asked for as lumens.
Result<std::vector<Lumen>> chosen_lumens(const Tooth& tooth, const RehearseOptions& options) {
    if (!options.canal.empty() && !tooth.find(options.canal)) {
        return fail(ErrorCode::NotFound, "there is no canal '" + options.canal + "'", options.tooth,
                    "choose from: " + listed(tooth.canals, [](const Canal& c) { return c.name; }));
    }
    std::vector<Lumen> lumens;
    for (const Canal& canal : tooth.canals) {
        if (!options.canal.empty() && canal.name != options.canal) continue;
        auto lumen = lumen_of(canal);
        if (!lumen) return tl::unexpected(lumen.error());
        lumens.push_back(std::move(*lumen));
    }
    return lumens;
}

Result<std::vector<Device>> chosen_devices(const Tray& tray, const RehearseOptions& options) {
    if (options.device.empty()) return tray.devices;
    if (const Device* device = tray.find(options.device)) return std::vector<Device>{*device};
    return fail(ErrorCode::NotFound, "there is no device '" + options.device + "'",
                options.tray.empty() ? "the generic tray" : options.tray,
                "choose from: " + listed(tray.devices, [](const Device& d) { return d.id; }));
}

/// Every device in every lumen, canal by canal. What cannot be worked out is left out and said on
/// the standard error; an error only when nothing is left.
Result<std::vector<Passage>> rehearse_all(const std::vector<Lumen>& lumens,
                                          const std::vector<Device>& devices,
                                          const RehearsalOptions& how, Progress& progress) {
    std::vector<std::optional<Result<Passage>>> tried(lumens.size() * devices.size());
    std::atomic<std::size_t> done = 0;
    parallel_for(tried.size(), 0, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end && !progress.cancelled(); ++i) {
            tried[i] = rehearse(lumens[i / devices.size()], devices[i % devices.size()], how);
            progress.report(static_cast<double>(++done) / static_cast<double>(tried.size()),
                            "rehearsing");
        }
    });
    std::vector<Passage> passages;
    std::vector<std::string> left_out;
    for (auto& passage : tried) {
        if (!passage) return fail(ErrorCode::Cancelled, "stopped before the end");
        if (*passage) {
            passages.push_back(std::move(**passage));
        } else if (passage->error().code == ErrorCode::NotConverged) {
            left_out.push_back(passage->error().sentence());
        } else {
            return tl::unexpected(passage->error());
        }
    }
    if (passages.empty() && !left_out.empty()) {
        return fail(ErrorCode::NotConverged,
                    "no device could be worked out, the first because of " + left_out[0]);
    }
    for (const std::string& sentence : left_out) {
        std::fprintf(stderr, "anfract: left out: %s\n", sentence.c_str());
    }
    return passages;
}

Result<void> rehearse_tooth(const RehearseOptions& options, Progress& progress) {
    const auto tooth = read_tooth(options.tooth);
    if (!tooth) return tl::unexpected(tooth.error());
    const auto tray = options.tray.empty() ? Result<Tray>(generic_tray()) : read_tray(options.tray);
    if (!tray) return tl::unexpected(tray.error());
    const auto lumens = chosen_lumens(*tooth, options);
    if (!lumens) return tl::unexpected(lumens.error());
    const auto devices = chosen_devices(*tray, options);
    if (!devices) return tl::unexpected(devices.error());

    RehearsalOptions how;
    how.access = options.access == "straight" ? Access::Straight : Access::Axial;
    how.friction = options.friction;
    how.temperature_degC = options.temperature_degC;
    const auto passages = rehearse_all(*lumens, *devices, how, progress);
    if (!passages) return tl::unexpected(passages.error());
    return deliver(options.out, passages_to_json(*passages, tooth->fdi, options.profile),
                   "anfract.passages");
}

}  // namespace

void add_rehearse_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<RehearseOptions>();
    CLI::App* command = app.add_subcommand(
        "rehearse",
        "How far each instrument goes in each canal, what stops it and how it is strained");
    command->add_option("tooth", options->tooth, "anfract.tooth file")->required();
    command->add_option("--tray", options->tray, "anfract.tray file; without it the generic tray");
    command->add_option("--canal", options->canal, "only this canal");
    command->add_option("--device", options->device, "only this device");
    command
        ->add_option("--access", options->access,
                     "axial: the handle in line with the coronal canal; straight: free to lean")
        ->check(CLI::IsMember({"axial", "straight"}))
        ->capture_default_str();
    command->add_option("--friction", options->friction, "Coulomb coefficient")
        ->check(CLI::Range(0.0, 2.0))
        ->capture_default_str();
    command
        ->add_option("--temperature", options->temperature_degC,
                     "degC of a turning nickel-titanium instrument, which its life depends on")
        ->check(CLI::Range(-50.0, 100.0))
        ->capture_default_str();
    command->add_flag("--profile,!--no-profile", options->profile,
                      "offset, strain and contact along depth, or without them");
    command->add_option("--out", options->out, "file to write; - is the standard output")
        ->capture_default_str();
    command->callback([options, &action] {
        action = [options](Progress& progress) { return rehearse_tooth(*options, progress); };
    });
}

}  // namespace anfract::cli
