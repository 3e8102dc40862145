using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class PeopleAndPrices : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "DeletedAt",
                table: "AspNetUsers",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "MergedIntoId",
                table: "AspNetUsers",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "VisitedAt",
                table: "AspNetUsers",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "VisitedBefore",
                table: "AspNetUsers",
                type: "bigint",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "AddressChanges",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    OldEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    NewEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    NormalizedNewEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    OldTokenHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    NewTokenHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AskedAt = table.Column<long>(type: "bigint", nullable: false),
                    ExpiresAt = table.Column<long>(type: "bigint", nullable: false),
                    OldSaidYesAt = table.Column<long>(type: "bigint", nullable: true),
                    NewSaidYesAt = table.Column<long>(type: "bigint", nullable: true),
                    EndedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AddressChanges", x => x.Id);
                    table.ForeignKey(
                        name: "FK_AddressChanges_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "Devices",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    Words = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    SignedInAt = table.Column<long>(type: "bigint", nullable: false),
                    SeenAt = table.Column<long>(type: "bigint", nullable: false),
                    EndedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Devices", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Devices_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "MemberImports",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Source = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Consent = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    FileHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    ImportedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MemberImports", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "MonthCredits",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Month = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Reason = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    DecidedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthCredits", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "PriceChanges",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    FromPlanId = table.Column<long>(type: "bigint", nullable: false),
                    ToPlanId = table.Column<long>(type: "bigint", nullable: false),
                    From = table.Column<long>(type: "bigint", nullable: false),
                    Reason = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AnnouncedAt = table.Column<long>(type: "bigint", nullable: false),
                    CalledOffAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PriceChanges", x => x.Id);
                    table.ForeignKey(
                        name: "FK_PriceChanges_Plans_FromPlanId",
                        column: x => x.FromPlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_PriceChanges_Plans_ToPlanId",
                        column: x => x.ToPlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "ImportedMembers",
                columns: table => new
                {
                    ImportId = table.Column<long>(type: "bigint", nullable: false),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    Consent = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    GrantId = table.Column<long>(type: "bigint", nullable: true),
                    ClaimedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ImportedMembers", x => new { x.ImportId, x.PersonId });
                    table.ForeignKey(
                        name: "FK_ImportedMembers_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_ImportedMembers_MemberImports_ImportId",
                        column: x => x.ImportId,
                        principalTable: "MemberImports",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_ImportedMembers_MembershipGrants_GrantId",
                        column: x => x.GrantId,
                        principalTable: "MembershipGrants",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.SetNull);
                });

            migrationBuilder.CreateTable(
                name: "MonthCreditLines",
                columns: table => new
                {
                    MonthCreditId = table.Column<long>(type: "bigint", nullable: false),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    PaymentId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    PaidMembershipId = table.Column<long>(type: "bigint", nullable: false),
                    Minor = table.Column<long>(type: "bigint", nullable: false),
                    Currency = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CreditedAt = table.Column<long>(type: "bigint", nullable: true),
                    IsPaidBack = table.Column<bool>(type: "boolean", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthCreditLines", x => new { x.MonthCreditId, x.PersonId });
                    table.ForeignKey(
                        name: "FK_MonthCreditLines_MonthCredits_MonthCreditId",
                        column: x => x.MonthCreditId,
                        principalTable: "MonthCredits",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_MonthCreditLines_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "PriceChangeLines",
                columns: table => new
                {
                    PriceChangeId = table.Column<long>(type: "bigint", nullable: false),
                    PaidMembershipId = table.Column<long>(type: "bigint", nullable: false),
                    ToldAt = table.Column<long>(type: "bigint", nullable: false),
                    AppliedAt = table.Column<long>(type: "bigint", nullable: true),
                    SkippedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PriceChangeLines", x => new { x.PriceChangeId, x.PaidMembershipId });
                    table.ForeignKey(
                        name: "FK_PriceChangeLines_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_PriceChangeLines_PriceChanges_PriceChangeId",
                        column: x => x.PriceChangeId,
                        principalTable: "PriceChanges",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_AddressChanges_NewTokenHash",
                table: "AddressChanges",
                column: "NewTokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_AddressChanges_OldTokenHash",
                table: "AddressChanges",
                column: "OldTokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_AddressChanges_PersonId",
                table: "AddressChanges",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Devices_PersonId_EndedAt",
                table: "Devices",
                columns: new[] { "PersonId", "EndedAt" });

            migrationBuilder.CreateIndex(
                name: "IX_ImportedMembers_GrantId",
                table: "ImportedMembers",
                column: "GrantId");

            migrationBuilder.CreateIndex(
                name: "IX_ImportedMembers_PersonId",
                table: "ImportedMembers",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_MemberImports_FileHash",
                table: "MemberImports",
                column: "FileHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MonthCreditLines_CreditedAt",
                table: "MonthCreditLines",
                column: "CreditedAt");

            migrationBuilder.CreateIndex(
                name: "IX_MonthCreditLines_PaidMembershipId",
                table: "MonthCreditLines",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_MonthCredits_Month",
                table: "MonthCredits",
                column: "Month",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_PriceChangeLines_PaidMembershipId",
                table: "PriceChangeLines",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_PriceChanges_FromPlanId",
                table: "PriceChanges",
                column: "FromPlanId");

            migrationBuilder.CreateIndex(
                name: "IX_PriceChanges_ToPlanId",
                table: "PriceChanges",
                column: "ToPlanId");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AddressChanges");

            migrationBuilder.DropTable(
                name: "Devices");

            migrationBuilder.DropTable(
                name: "ImportedMembers");

            migrationBuilder.DropTable(
                name: "MonthCreditLines");

            migrationBuilder.DropTable(
                name: "PriceChangeLines");

            migrationBuilder.DropTable(
                name: "MemberImports");

            migrationBuilder.DropTable(
                name: "MonthCredits");

            migrationBuilder.DropTable(
                name: "PriceChanges");

            migrationBuilder.DropColumn(
                name: "DeletedAt",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "MergedIntoId",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "VisitedAt",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "VisitedBefore",
                table: "AspNetUsers");
        }
    }
}
