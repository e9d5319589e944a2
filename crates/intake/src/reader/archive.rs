//! A zipped workbook's members: which kind of workbook they make, and whether
//! unpacking them stays within the limits.

use std::io::{Cursor, Read};

use zip::ZipArchive;

use super::sniff::not_a_table;
use super::{Format, Limits, ReadFault};

pub(super) type Archive<'a> = ZipArchive<Cursor<&'a [u8]>>;

/// Most that deflate can grow: 258 bytes from two bits (RFC 1951), rounded up.
const DEFLATE_GROWTH: u64 = 1032;

/// Opens the archive by its directory, unpacking nothing.
pub(super) fn open<'a>(name: &str, bytes: &'a [u8]) -> Result<Archive<'a>, ReadFault> {
    ZipArchive::new(Cursor::new(bytes))
        .map_err(|error| corrupt(name, "the zip directory", format!("{error} (the file may be cut short)")))
}

/// Tells which kind of workbook the members make.
pub(super) fn format(name: &str, archive: &mut Archive<'_>) -> Result<Format, ReadFault> {
    let members: Vec<String> = archive
        .file_names()
        .filter_map(Result::ok)
        .map(|member| member.replace('\\', "/").to_ascii_lowercase())
        .collect();
    let has = |wanted: &str| members.iter().any(|member| member == wanted);
    if has("encrypted-package") {
        return Err(ReadFault::Encrypted { file: name.into() });
    }
    if has("mimetype") {
        let kind = head(name, archive, "mimetype")?;
        if kind.starts_with("application/vnd.oasis.opendocument.spreadsheet") {
            if has("meta-inf/manifest.xml")
                && head(name, archive, "META-INF/manifest.xml")?.contains("encryption-data")
            {
                return Err(ReadFault::Encrypted { file: name.into() });
            }
            return Ok(Format::Ods);
        }
        if kind.starts_with("application/vnd.oasis.opendocument") {
            return Err(not_a_table(name, "an OpenDocument file that is no spreadsheet"));
        }
    }
    if has("xl/workbook.bin") {
        return Err(ReadFault::OldFormat { file: name.into(), what: "a binary workbook (.xlsb)".into() });
    }
    if members.iter().any(|member| member.starts_with("word/")) {
        return Err(not_a_table(name, "a text document (.docx)"));
    }
    if members.iter().any(|member| member.starts_with("ppt/")) {
        return Err(not_a_table(name, "a presentation (.pptx)"));
    }
    if has("[content_types].xml") || has("xl/workbook.xml") {
        return Ok(Format::Xlsx);
    }
    Err(not_a_table(name, "a zip archive; unpack it first"))
}

/// Refuses members that unpack to more than the limits, as they claim, and,
/// where they could unpack to more than they claim, as they do.
pub(super) fn check_sizes(name: &str, archive: &mut Archive<'_>, limits: &Limits) -> Result<(), ReadFault> {
    let too_large = |what: String, limit| ReadFault::TooLarge { file: name.into(), what, limit };
    let mut claimed = 0u64;
    let mut doubtful = Vec::new();
    for index in 0..archive.len() {
        let member =
            archive.by_index_raw(index).map_err(|error| corrupt(name, "the zip directory", error))?;
        let shown = String::from_utf8_lossy(member.name_raw()).into_owned();
        if member.encrypted() {
            return Err(ReadFault::Encrypted { file: name.into() });
        }
        if member.size() > limits.member_bytes {
            return Err(too_large(format!("its part {shown}, unpacked,"), limits.member_bytes));
        }
        claimed = claimed.saturating_add(member.size());
        if member.compressed_size().saturating_mul(DEFLATE_GROWTH) > limits.member_bytes {
            doubtful.push((index, shown));
        }
    }
    if claimed > limits.unpacked_bytes {
        return Err(too_large("the whole, unpacked,".into(), limits.unpacked_bytes));
    }
    for (index, shown) in doubtful {
        let member = archive.by_index(index).map_err(|error| corrupt(name, &shown, error))?;
        let mut bounded = member.take(limits.member_bytes + 1);
        let unpacked = std::io::copy(&mut bounded, &mut std::io::sink())
            .map_err(|error| corrupt(name, &shown, error))?;
        if unpacked > limits.member_bytes {
            return Err(too_large(format!("its part {shown}, unpacked,"), limits.member_bytes));
        }
    }
    Ok(())
}

/// An attribute by its full name, entities resolved.
pub(super) fn attribute(element: &quick_xml::events::BytesStart<'_>, key: &str) -> Option<String> {
    let found = element.try_get_attribute(key).ok()??;
    let value = found.normalized_value(quick_xml::XmlVersion::Implicit1_0);
    Some(value.map_or_else(|_| found.value.to_string(), |value| value.into_owned()))
}

pub(super) fn corrupt(name: &str, place: &str, detail: impl ToString) -> ReadFault {
    ReadFault::Corrupt { file: name.into(), place: place.into(), detail: detail.to_string() }
}

/// The first bytes of a small member, as text.
fn head(name: &str, archive: &mut Archive<'_>, member: &str) -> Result<String, ReadFault> {
    let found = archive.by_name(member).map_err(|error| corrupt(name, member, error))?;
    let mut bytes = Vec::new();
    found.take(256 * 1024).read_to_end(&mut bytes).map_err(|error| corrupt(name, member, error))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
