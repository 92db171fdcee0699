//! Every bound on what is read and told, in one place.

/// How much is read before the reader says "too much".
///
/// The defaults let a house of 100,000 appliances in one file through and keep hostile input within about
/// 200 MB and a few seconds. They are raised together, by [`Limits::raised`], never one by one in code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of one file. 64 MiB.
    pub file_bytes: u64,
    /// Bytes of a class or a list of words. 1 MiB; those of the program have 32 KiB at most.
    pub class_bytes: u64,
    /// Bytes of all classes and lists of words of a house together. 4 MiB; those of the program have 300 KiB.
    pub classes_bytes: u64,
    /// Bytes of all files of a house together. 128 MiB.
    pub house_bytes: u64,
    /// Files of a house. 100,000.
    pub files: usize,
    /// Files that links to folders bring into a house, or a build, of a git revision a second time. 1,000: they are written
    /// once more for each link.
    pub linked_files: usize,
    /// Entries looked at in folders while an include pattern is matched. 200,000.
    pub folder_entries: usize,
    /// Folders within each other that `**` goes down in an include pattern. 32.
    pub folders_deep: usize,
    /// Classes of a house's own. 200, several times as many as the program has: each is looked at as all that it can become,
    /// however short its file is.
    pub classes: usize,
    /// Levels of mappings and sequences within each other in a description. 64.
    pub depth: usize,
    /// Keys, values and collections in one file. 6,000,000.
    pub nodes: usize,
    /// Keys of one mapping, or items of one list, of a description. 100,000: each is more in memory than in the file, and
    /// nobody has so many rooms, so many appliances in a room or so many points in an appliance.
    pub entries: usize,
    /// Nodes that aliases may stand for, in one file. 100,000.
    pub alias_nodes: usize,
    /// Bytes of text that aliases may stand for, in one file. 4 MiB.
    pub alias_bytes: u64,
    /// Nodes that the aliases of all files of a house may stand for together. 500,000.
    pub house_alias_nodes: usize,
    /// Bytes of text that they may stand for together. 32 MiB.
    pub house_alias_bytes: u64,
    /// Items in the lists of all files of a house, with what stands in them. 1,000,000: each address that a point listens to is
    /// twenty times as large in memory as in the file, and a house of 100,000 appliances has a tenth of it.
    pub list_nodes: usize,
    /// Rows of an address table, empty ones among them. 1,200,000: a bus has 65,535 addresses, but a spreadsheet may
    /// write all the rows it has.
    pub table_rows: usize,
    /// Rows of an address table that have an address. 131,072: two for each address that a bus can have.
    pub table_addresses: usize,
    /// Cells in one row of an address table. 256.
    pub table_cells: usize,
    /// Bytes of address tables that are read once more, for a bus beside the first that names them. 8 MiB: a bus has
    /// 65,535 addresses, which take about half of it.
    pub shared_table_bytes: u64,
    /// Findings of one rule that are told one by one. 1,000: nobody reads so many; the numbers count all of them.
    pub findings_of_a_rule: usize,
    /// Names, addresses and values of a house that cannot be looked up and are told and counted. 20,000: each has a place and a
    /// text, and in a house of ten megabytes five million can be wrong.
    pub mistakes: usize,
    /// Findings of the appliances, and as many of the house as a whole. 250,000; a house with more is refused.
    pub findings: usize,
}

/// What there was too much of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// Bytes of a file.
    FileBytes,
    /// Bytes of all files.
    HouseBytes,
    /// Files.
    Files,
    /// Entries of folders.
    FolderEntries,
    /// Folders within each other.
    FoldersDeep,
    /// Bytes of an include pattern.
    PatternBytes,
    /// Parts of an include pattern.
    PatternParts,
    /// Classes of a house's own.
    Classes,
    /// Keys, values and collections of a file.
    Nodes,
    /// Keys of one mapping, or items of one list.
    Entries,
    /// Items in the lists of all files.
    ListNodes,
    /// Nodes that the aliases of all files stand for.
    AliasNodes,
    /// Bytes of text that the aliases of all files stand for.
    AliasBytes,
    /// Rows of a table.
    Rows,
    /// Rows of a table that have an address.
    Addresses,
    /// Cells of a row.
    Cells,
    /// Bytes of tables that several buses name.
    SharedTableBytes,
    /// Classes that a class is based on.
    Bases,
    /// Points of a class.
    Points,
    /// Settings of a class.
    Settings,
    /// Combinations of a class.
    Combinations,
    /// Links of a class.
    Links,
    /// Values in the conversions of a class.
    Values,
    /// Bytes of the house's own classes and lists of words.
    ClassesBytes,
    /// Problems in a file: there are more than were told.
    Problems,
    /// Names, addresses and values of a house that could not be looked up: there are more than were told.
    Mistakes,
    /// Findings of a house's appliances, or of the house as a whole: there may be more than were looked for.
    Findings,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            file_bytes: 64 << 20,
            class_bytes: 1 << 20,
            classes_bytes: 4 << 20,
            house_bytes: 128 << 20,
            files: 100_000,
            linked_files: 1_000,
            folder_entries: 200_000,
            folders_deep: 32,
            classes: 200,
            depth: 64,
            nodes: 6_000_000,
            entries: 100_000,
            alias_nodes: 100_000,
            alias_bytes: 4 << 20,
            house_alias_nodes: 500_000,
            house_alias_bytes: 32 << 20,
            list_nodes: 1_000_000,
            table_rows: 1_200_000,
            table_addresses: 2 << 16,
            table_cells: 256,
            shared_table_bytes: 8 << 20,
            findings_of_a_rule: 1_000,
            mistakes: 20_000,
            findings: 250_000,
        }
    }
}

impl Limits {
    /// Problems told of one file; after that one more says that there are others. 1,000.
    ///
    /// Nobody reads so many, and each has a place and a text.
    pub const PROBLEMS_PER_FILE: usize = 1_000;

    /// Classes that a class is based on, one after the other. 16: nobody finds through more.
    pub const BASES_OF_A_CLASS: usize = 16;

    /// Points of a class. 64; those of the program have far fewer, and what a class can become doubles with each.
    pub const POINTS_OF_A_CLASS: usize = 64;

    /// Settings of a class. 64; those of the program have 10 at most.
    pub const SETTINGS_OF_A_CLASS: usize = 64;

    /// Combinations of a class. 64; those of the program have 10 at most.
    pub const COMBINATIONS_OF_A_CLASS: usize = 64;

    /// Links of a class. 256; those of the program have 91 at most. Each is looked at beside the others, and in each appliance.
    pub const LINKS_OF_A_CLASS: usize = 256;

    /// Values in the tables and lists of all conversions of a class. 4,096.
    pub const VALUES_OF_A_CLASS: usize = 4_096;

    /// Bytes of an include pattern. 4,096: no path is longer, and what is made of a pattern to match names with is much
    /// larger than the pattern.
    pub const PATTERN_BYTES: usize = 4_096;

    /// Parts of an include pattern, between its slashes. 64.
    pub const PATTERN_PARTS: usize = 64;

    /// The highest factor that the command line takes.
    pub(crate) const MOST_FACTOR: u32 = 1_000;

    /// The highest `file_bytes` that has an effect: a place counts bytes in 32 bits.
    pub(crate) const MOST_FILE_BYTES: u64 = u32::MAX as u64 / 2;

    /// The highest `depth` that has an effect: readers call themselves once a level.
    pub(crate) const MOST_DEPTH: usize = 1_000;

    /// The same limits, each multiplied by `factor`; nothing overflows and zero counts as one.
    #[must_use]
    pub fn raised(self, factor: u32) -> Self {
        let factor = factor.max(1);
        let many = usize::try_from(factor).unwrap_or(usize::MAX);
        Self {
            file_bytes: self.file_bytes.saturating_mul(u64::from(factor)),
            class_bytes: self.class_bytes.saturating_mul(u64::from(factor)),
            classes_bytes: self.classes_bytes.saturating_mul(u64::from(factor)),
            house_bytes: self.house_bytes.saturating_mul(u64::from(factor)),
            files: self.files.saturating_mul(many),
            linked_files: self.linked_files.saturating_mul(many),
            folder_entries: self.folder_entries.saturating_mul(many),
            folders_deep: self.folders_deep.saturating_mul(many),
            classes: self.classes.saturating_mul(many),
            depth: self.depth.saturating_mul(many),
            nodes: self.nodes.saturating_mul(many),
            entries: self.entries.saturating_mul(many),
            alias_nodes: self.alias_nodes.saturating_mul(many),
            alias_bytes: self.alias_bytes.saturating_mul(u64::from(factor)),
            house_alias_nodes: self.house_alias_nodes.saturating_mul(many),
            house_alias_bytes: self.house_alias_bytes.saturating_mul(u64::from(factor)),
            list_nodes: self.list_nodes.saturating_mul(many),
            table_rows: self.table_rows.saturating_mul(many),
            table_addresses: self.table_addresses.saturating_mul(many),
            table_cells: self.table_cells.saturating_mul(many),
            shared_table_bytes: self.shared_table_bytes.saturating_mul(u64::from(factor)),
            findings_of_a_rule: self.findings_of_a_rule.saturating_mul(many),
            mistakes: self.mistakes.saturating_mul(many),
            findings: self.findings.saturating_mul(many),
        }
    }
}
