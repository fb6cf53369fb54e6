#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/exchange/dicom_tls.h"

namespace anfract {

/// A program that may send.
struct DicomCaller {
    std::string title;  ///< its application entity title
    std::string host;   ///< name or IPv4 address; empty: any machine that uses the title
};

/// Reads "TITLE" or "TITLE@HOST". Errors: BadInput.
Result<DicomCaller> parse_dicom_caller(const std::string& text);

struct DicomReceiverOptions {
    int port = 11112;  ///< [IANA, dicom]
    std::string title = "ANFRACT";
    std::vector<DicomCaller> callers;  ///< others are refused
    std::filesystem::path folder;      ///< private; what arrives is put into folders below it
    DicomTls tls;                      ///< empty: unencrypted
    int patience_s = 30;               ///< for the next message of a caller that has gone silent
    std::uint64_t limit_bytes = std::uint64_t{16} << 30;  ///< of one association
};

/// What one association brought: a folder of files, one for each object, each on the disk.
struct DicomArrival {
    std::filesystem::path folder;  ///< the taker's to move or remove
    std::string caller;            ///< "TITLE@ADDRESS"
    int objects = 0;
};

/// A DICOM storage provider [DICOM PS3.4, B] for images that can be scans: CT, enhanced CT, X-ray
/// 3D craniofacial, multi-frame grey secondary captures. Answers C-ECHO and C-STORE, up to four
/// callers at once, on every network of the machine (IPv4).
///
/// Objects are written as they come, without being parsed. Those of an association that ends in
/// order are handed on together; those of one that breaks off are removed.
class DicomReceiver {
  public:
    /// @param arrived  called on a thread of its own for each association that brought something
    /// @param refused  called with a sentence when a caller is turned away or breaks off
    /// Errors: BadInput (title, port, caller, certificate), Io (the port is taken).
    static Result<std::unique_ptr<DicomReceiver>> start(
        const DicomReceiverOptions& options, std::function<void(const DicomArrival&)> arrived,
        std::function<void(const std::string&)> refused);
    /// True while an association is open that has brought objects.
    bool is_receiving() const;
    /// Waits for associations that are open, at most as long as their patience.
    ~DicomReceiver();
    DicomReceiver(const DicomReceiver&) = delete;
    DicomReceiver& operator=(const DicomReceiver&) = delete;

  private:
    struct Running;
    explicit DicomReceiver(std::unique_ptr<Running> running);
    std::unique_ptr<Running> running_;
};

}  // namespace anfract
