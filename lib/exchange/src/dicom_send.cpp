#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmnet/dstorscu.h>

#include <cstdlib>
#include <regex>

#include "anfract/exchange/dicom_objects.h"
#include "tls_layer.h"

namespace anfract {
namespace {

constexpr int patience_s = 30;

/// @pre a title has 1 to 16 characters [DICOM PS3.5, 6.2, AE]
bool is_title(const std::string& text) {
    return std::regex_match(text, std::regex(R"([A-Za-z0-9_.\-]{1,16})"));
}

struct Sender : DcmStorageSCU {
    using DcmStorageSCU::useSecureConnection;
};

}  // namespace

Result<DicomNode> parse_dicom_node(const std::string& text) {
    std::smatch parts;
    const std::regex pattern(
        R"(([A-Za-z0-9_.\-]{1,16})@([A-Za-z0-9.\-]+|\[[0-9A-Fa-f:]+\]):(\d{1,5}))");
    DicomNode node;
    if (std::regex_match(text, parts, pattern)) {
        node.called = parts[1];
        node.host = parts[2];
        node.port = std::stoi(parts[3]);
    }
    if (node.port < 1 || node.port > 65535 || node.host.empty()) {
        return fail(ErrorCode::BadInput, "is not an address of a DICOM program", text,
                    "write TITLE@HOST:PORT");
    }
    return node;
}

Result<void> send_dicom(const std::vector<std::filesystem::path>& files, const DicomNode& to) {
    const std::string there = to.called + "@" + to.host + ":" + std::to_string(to.port);
    if (!is_title(to.calling))
        return fail(ErrorCode::BadInput, "is not an application title", to.calling, "");
    OFLog::configure(OFLogger::OFF_LOG_LEVEL);
    // Without it each message waits for the acknowledgement of the one before.
    ::setenv("TCP_NODELAY", "1", 0);
    std::unique_ptr<DcmTLSTransportLayer> tls;  // outlives the sender, which uses it
    if (to.tls.wanted()) {
        auto layer = tls_layer(to.tls, false);
        if (!layer) return tl::unexpected(layer.error());
        tls = std::move(*layer);
    }
    Sender sender;
    sender.setAETitle(to.calling.c_str());
    sender.setPeerAETitle(to.called.c_str());
    sender.setPeerHostName(to.host.c_str());
    sender.setPeerPort(Uint16(to.port));
    sender.setConnectionTimeout(patience_s);
    sender.setACSETimeout(patience_s);
    sender.setDIMSETimeout(patience_s);
    sender.setDIMSEBlockingMode(DIMSE_NONBLOCKING);
    sender.setHaltOnUnsuccessfulStoreMode(OFTrue);
    for (const auto& file : files) {
        if (sender.addDicomFile(file.c_str(), ERM_fileOnly, OFFalse).bad())
            return fail(ErrorCode::BadInput, "it is not a DICOM file", file.string(), "");
    }
    const auto failed = [&](const std::string& what) {
        return fail(ErrorCode::Io, what, there,
                    "check the address and that it accepts " + to.calling);
    };
    if (sender.addPresentationContexts().bad() || sender.initNetwork().bad() ||
        (tls && sender.useSecureConnection(tls.get()).bad()))
        return failed("sending cannot be prepared");
    if (sender.negotiateAssociation().bad()) return failed("it does not take the connection");
    const OFCondition sent = sender.sendSOPInstances();
    sender.releaseAssociation();
    if (sent.bad() || sender.getNumberOfSOPInstancesToBeSent() != 0)
        return failed("it did not take every object");
    return {};
}

}  // namespace anfract
